"""What the two models were checked against, and how far off they were; printed with every page.

Figures: `python studies/solid_check/run.py --stored studies/solid_check/second_seed` (one-piece), `... third_seed`
(two-piece), `fourth_seed` and `fifth_seed` together, `sixth_seed` (solved after the front view's last change), and
bodies of real shape: `... shapes`, none of them fitted to.
"""

STATEMENT = (
    "Verified, not validated: both models were compared with 3-D solid FE of the same idealised bodies, never with a "
    "measured caliper. On random bodies the front view's opening was off by +0.3 % ± 0.8 % (worst 2.2 %) for 22 "
    "one-piece bodies and +0.6 % ± 1.5 % (worst 3.7 %) for 24 two-piece bodies from closed to strongly open joints; "
    "its tilt by -1.6 % ± 1.1 % (worst 4.2 %) and -1.2 % ± 2.0 % (worst 9.7 %, one strongly open body, all others "
    "within 6.1 %). The frame's opening was off by 0.0 % ± 2.5 % (worst 7.9 %) and -0.9 % ± 2.4 % (worst 9.4 %). On "
    "26 two-piece bodies of two more seeds (8 of them on coarser meshes) the front view's opening was off by +0.9 % ± "
    "1.7 % (worst 4.9 %), its tilt by -1.3 % ± 2.5 % (worst 12.6 %, one strongly open body, all others within 7 %), "
    "the frame's opening by +0.3 % ± 3.3 % (worst 12.3 %). On 8 one-piece and 16 two-piece bodies solved last, which "
    "nothing was fitted to (one choice between two fits was made with them in sight), the front view's opening was "
    "off by +0.5 % ± 0.7 % (worst 1.4 %) and +0.7 % ± 1.2 % (worst 3.6 %), its tilt by -1.6 % ± 0.9 % (worst 2.9 %) "
    "and -1.6 % ± 2.5 % (worst 11.0 %, one strongly open body, all others within 7 %), the frame's opening by -0.1 % "
    "± 2.1 % (worst 6.0 %) and -0.6 % ± 3.2 % (worst 10.3 %). On any stored one-piece body, those fitted to among "
    "them, its opening was off by at most 2.8 %, its tilt by 4.4 %. Bolt forces were within 0.4 kN in 998 of 1000 "
    "while half of the joint touched (worst 0.53 kN), in 94 to 97 of 100 at any opening. The front view's onset "
    "pressure was within 10 % for seven joints in ten and within 20 % for nine in ten (36 joints, three seeds, seen "
    "while its model was chosen; worst +39 %) where whole faces touch; the frame and faces with reliefs, lands or "
    "ports, find it up to 2.7 times late where a far corner is hardly pressed. Asked for by --solid, 3-D elasticity "
    "on a grid had it within 10 % for all of 52 joints with whole faces (within 5 % for 50; 11 solved after its cells "
    "were chosen), bolt forces within 0.23 kN at any opening, openings 1.9 % ± 1.0 % low. The solids themselves lie "
    "about 0.9 % below the limit of ever finer meshes. On 14 bodies of real shape (outlines with arcs, pockets of any "
    "outline, ribs, bosses) the front view's opening was off by +0.5 % ± 0.5 % (worst 1.7 %; 8 one-piece) and -0.2 % "
    "± 1.6 % (worst 3.1 %; 6 two-piece), its tilt at worst by 2.9 % and 11.6 %, and the frame, which reads them "
    "stiff, by -3.0 % ± 3.2 % (worst 8.9 %) and -6.5 % ± 2.7 % (worst 11.7 %)."
)

# The worst of all those differences, one-piece bodies that were fitted to and shapes too, as shares: (model, quantity,
# bolted) -> band about a figure. The frame's tilt is not published. Onset: the worst of all bodies, either way. Bolt
# forces: while half of what touched still does, but for 2 in 1000.
WORST = {
    ("front view", "opening", False): 0.028,
    ("front view", "opening", True): 0.049,
    ("front view", "tilt", False): 0.044,
    ("front view", "tilt", True): 0.126,
    ("frame", "opening", False): 0.089,
    ("frame", "opening", True): 0.123,
}
# The same 36 joints asked of points up to the edges and asked of cells (studies/solid_check/README.md, "Onset").
ONSET_BY_POINTS = "front view, whole faces: nine in ten within 20 %"
ONSET_BY_CELLS = (
    "asked cell by cell, as by the frame and with reliefs, lands or ports: three in four within 20 %"
)
WORST_ONSET = (
    0.65  # of the figure given: solids opened at 0.37 (by cells) and 1.64 of it (warm titanium bridge)
)
WORST_ONSET_SOLID = (
    0.2  # by the 3-D solid: whole faces at worst 0.1, one with a port 0.1; not of unlike metals
)
WORST_BOLT_N = 400.0

# Their scatter, one standard deviation, as shares, as the statement has it.
SCATTER = {
    ("front view", "opening", False): 0.008,
    ("front view", "opening", True): 0.015,
    ("front view", "tilt", False): 0.011,
    ("front view", "tilt", True): 0.020,
    ("frame", "opening", False): 0.025,
    ("frame", "opening", True): 0.024,
}
