"""Which of the places that fit: those whose joint opens last through life, by the frame."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np

from stiffcalc.caliper import response
from stiffcalc.caliper.build import build
from stiffcalc.caliper.joint_checks import HOLDING
from stiffcalc.caliper.life import COLD, SETTLED, SOAKED, Life, Stage, life
from stiffcalc.caliper.stages import LIVED, warmth_of
from stiffcalc.condensed import Array
from stiffcalc.explore.batches import alike, stacked_designs
from stiffcalc.explore.bolt_places import Fitting, Group
from stiffcalc.mechanics import joint, opening
from stiffcalc.mechanics.joint_state import JointError
from stiffcalc.study.schema import Bolt, Design

BATCH = 256  # designs solved at once


@dataclass(frozen=True)
class Question:
    """One set of places to choose from: what fits in each varied bridge, in order of x, and the bolt's size.

    Places of both ends are tried together and those of the middle bridges after them, the others at their usual place.
    """

    fits: tuple[Fitting, ...]
    bolt: Bolt

    @property
    def ends(self) -> tuple[int, ...]:
        """The outermost bridges."""
        return tuple(dict.fromkeys((0, len(self.fits) - 1)))

    @property
    def split(self) -> int:
        """Tries of the ends."""
        return max(len(self.fits[i].places) for i in self.ends)

    @property
    def tries(self) -> int:
        """Designs that try every place of every bridge once."""
        middles = (len(f.places) for i, f in enumerate(self.fits) if i not in self.ends)
        return self.split + max(middles, default=0)

    def places(self, k: int) -> list[Array]:
        """Places (n, 2) of try k in each bridge."""
        return [f.places[self._own(i, k)] for i, f in enumerate(self.fits)]

    def best(self, onset: Array) -> list[int]:
        """The place in each bridge whose face opens last; onset (tries, bridges)."""
        found = []
        for i, f in enumerate(self.fits):
            first = 0 if i in self.ends else self.split
            found.append(int(np.argmax(onset[first : first + len(f.places), i])))
        return found

    def _own(self, bridge: int, k: int) -> int:
        """Which of its places a bridge takes in try k."""
        own = k if bridge in self.ends else k - self.split
        return own if 0 <= own < len(self.fits[bridge].places) else self.fits[bridge].usual


def with_places(
    design: Design, groups: Sequence[Group], places: Sequence[Array], bolt: Bolt
) -> tuple[Bolt, ...]:
    """The layout's bolts with those of the varied bridges replaced by `bolt` at the places."""
    varied = {b for g in groups for b in g.bolts}
    kept = [b for b in design.caliper.bolts if b not in varied]
    return (*(replace(bolt, x=float(x), y=float(y)) for each in places for x, y in each), *kept)


def opens_last(design: Design, groups: Sequence[Group], questions: Sequence[Question]) -> list[list[int]]:
    """For each question (all of one number of bolts) the place to take in each bridge.

    Each bridge's face is judged by its least onset pressure through life, at minimum preload: a face that is hardly
    pressed somewhere may gape once settled or cold. Grades share the choice; the bolt asked should be of the weakest,
    which loses the largest share of its preload.
    """
    tries = [(q, k) for q in questions for k in range(q.tries)]
    onset = _onsets([_tried(design, groups, q, k) for q, k in tries])[:, [g.bridge for g in groups]]
    ends = np.cumsum([q.tries for q in questions])
    parts = np.split(onset, ends[:-1])
    return [q.best(part) for q, part in zip(questions, parts, strict=True)]


def _tried(design: Design, groups: Sequence[Group], q: Question, k: int) -> Design:
    bolts = with_places(design, groups, q.places(k), q.bolt)
    return replace(design, caliper=replace(design.caliper, bolts=bolts))


def _onsets(designs: Sequence[Design]) -> Array:
    """Least onset pressure of every bridge's face through life, (D, N)."""
    found = np.empty((len(designs), len(designs[0].caliper.bridges)))
    for group in alike(designs):
        for some in (group[i : i + BATCH] for i in range(0, len(group), BATCH)):
            found[some] = list(_batch([designs[i] for i in some]))
    return found


def _batch(designs: Sequence[Design]) -> Iterator[Array]:
    """Onset of one batch; -1 for those that cannot even be tightened."""
    batch, D = stacked_designs(designs), len(designs)
    try:
        yield from _least(batch, D)
    except JointError as error:
        lost = error.designs or range(D)
        sound = [d for i, d in enumerate(designs) if i not in lost]
        found = _batch(sound) if sound else iter(())
        for i in range(D):
            yield np.full(len(batch.caliper.bridges), -1.0) if i in lost else next(found)


def _least(batch: Design, count: int) -> Array:
    """Least onset pressure (D, N) of all stages that the check of onset looks at. Raises `JointError`."""
    body = build(batch, count)
    known = life(batch, body, response.frame_pair(body, give=False), ends=("min",))
    cases = [c for c in batch.load_cases if c.kind in HOLDING]
    lived = (COLD, SOAKED) if any(c.kind in LIVED for c in cases) else ()
    stages = [s for s in known.stages if s.name in (SETTLED, *lived)]
    stages += [known.own[warmth_of(c)] for c in cases]
    once = {id(s): s for s in stages}.values()
    return np.asarray(np.min([_onset_at(known, s) for s in once], axis=0))


def _onset_at(known: Life, stage: Stage) -> Array:
    """Onset pressure (D, N) at one stage, minimum preload."""
    pair = known.pairs[stage.warmth]
    tight = stage.tight or joint.tighten(pair, stage.preload.min[:, None])
    return np.asarray(opening.onset(pair, tight).pressure[:, 0])
