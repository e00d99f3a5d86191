"""Outlines from STEP and CSV: what is read exactly, what is converted, and what is refused."""

import math
from pathlib import Path

import gmsh
import numpy as np
import pytest

from stiffcalc.errors import InputError
from stiffcalc.exchange.outlines import read_outline
from stiffcalc.plane.section.curves import outline_of
from stiffcalc.plane.section.outline import Material, Part, signed_area

PLATE = 40.0 * 20.0 - (4 - math.pi) * 3.0**2  # corners rounded with 3 mm
HOLE = math.pi * 4.0**2


def step(path: Path, draw):
    """Write what `draw` draws with the CAD kernel."""
    gmsh.initialize([], readConfigFiles=False, interruptible=False)
    gmsh.option.setNumber("General.Terminal", 0)
    try:
        draw(gmsh.model.occ)
        gmsh.model.occ.synchronize()
        gmsh.write(str(path))
    finally:
        gmsh.finalize()
    return path


def plate(occ, *, x=0.0, y=0.0, z=0.0):
    face = occ.addRectangle(x, y, z, 40.0, 20.0, roundedRadius=3.0)
    hole = occ.addDisk(x + 15.0, y + 10.0, z, 4.0, 4.0)
    occ.cut([(2, face)], [(2, hole)])


def net(outline):
    return abs(signed_area(outline.outer)) - sum(abs(signed_area(h)) for h in outline.holes)


def test_step_with_arcs_and_a_hole(tmp_path):
    """Exact lines and arcs, so the area is exact."""
    found = read_outline(step(tmp_path / "plate.step", plate))
    assert net(found) == pytest.approx(PLATE - HOLE, rel=1e-9)
    assert len(found.outer) == 8
    assert len(found.holes) == 1
    assert found.notes == ()
    assert sorted(round(e.radius, 6) for e in found.outer if e.centre) == [3.0] * 4


@pytest.mark.parametrize(
    ("unit", "factor", "note"),
    [
        ("SI_UNIT($,.METRE.)", 1000.0, "file in m: converted to mm"),
        ("SI_UNIT(.CENTI.,.METRE.)", 10.0, "file in cm: converted to mm"),
    ],
)
def test_step_in_other_metric_units(tmp_path, unit, factor, note):
    path = step(tmp_path / "plate.step", plate)
    path.write_text(path.read_text().replace("SI_UNIT(.MILLI.,.METRE.)", unit))
    found = read_outline(path)
    assert found.notes == (note,)
    assert net(found) == pytest.approx(factor**2 * (PLATE - HOLE), rel=1e-9)


def test_step_in_inches(tmp_path):
    """ISO 10303-41: a conversion based unit names a length measure with unit (form from memory)."""
    path = step(tmp_path / "plate.step", plate)
    text = path.read_text()
    old = next(line for line in text.splitlines() if ".MILLI.,.METRE." in line)
    number = old.split("=")[0].strip()
    inch = (
        f"{number} = ( CONVERSION_BASED_UNIT('INCH',#901) LENGTH_UNIT() NAMED_UNIT(#902) );\n"
        "#901 = LENGTH_MEASURE_WITH_UNIT(LENGTH_MEASURE(25.4),#903);\n"
        "#902 = DIMENSIONAL_EXPONENTS(1.,0.,0.,0.,0.,0.,0.);\n"
        "#903 = ( LENGTH_UNIT() NAMED_UNIT(*) SI_UNIT(.MILLI.,.METRE.) );"
    )
    path.write_text(text.replace(old, inch))
    found = read_outline(path)
    assert found.notes == ("file in inch: converted to mm",)
    assert net(found) == pytest.approx(25.4**2 * (PLATE - HOLE), rel=1e-6)


def test_a_curve_that_is_no_arc_is_drawn_as_chords_and_said_so(tmp_path):
    def ellipse(occ):
        occ.addDisk(0.0, 0.0, 0.0, 20.0, 10.0)

    found = read_outline(step(tmp_path / "oval.stp", ellipse))
    assert "neither straight nor circular" in found.notes[0]
    assert net(found) == pytest.approx(math.pi * 200.0, rel=2e-3)


REFUSED = {
    "a solid": (lambda occ: occ.addBox(0, 0, 0, 10, 10, 10), "1 solid bodies"),
    "two faces": (
        lambda occ: (occ.addRectangle(0, 0, 0, 5, 5), occ.addRectangle(9, 0, 0, 5, 5)),
        "2 faces",
    ),
    "another plane": (
        lambda occ: occ.rotate([(2, occ.addRectangle(0, 0, 0, 9, 5))], 0, 0, 0, 1, 0, 0, math.pi / 2),
        "deep along z",
    ),
}


@pytest.mark.parametrize("name", REFUSED)
def test_step_that_is_no_flat_section_is_refused(tmp_path, name):
    draw, said = REFUSED[name]
    path = step(tmp_path / "shape.step", draw)
    with pytest.raises(InputError, match=said) as refused:
        read_outline(path)
    assert len(refused.value.faults) == 1
    assert "one flat face in the x-y plane" in str(refused.value)


def test_open_wire_is_refused(tmp_path):
    def wire(occ):
        p = [occ.addPoint(*xy, 0) for xy in ((0, 0), (9, 0), (9, 5))]
        occ.addLine(p[0], p[1])
        occ.addLine(p[1], p[2])

    with pytest.raises(InputError, match="an outline that ends at"):
        read_outline(step(tmp_path / "wire.step", wire))


def test_broken_step_is_refused_and_prints_nothing(tmp_path, capfd):
    path = step(tmp_path / "plate.step", plate)
    capfd.readouterr()
    path.write_text(path.read_text()[:1500])
    with pytest.raises(InputError, match="cannot read"):
        read_outline(path)
    assert capfd.readouterr() == ("", "")


CORNERS = "x_mm,y_mm,radius_mm\n0,0,0\n40,0,3\n40,20,3\n0,20,0\n"


def csv(tmp_path, text, name="outline.csv"):
    path = tmp_path / name
    path.write_text(text)
    return path


def test_csv_with_roundings_and_a_hole(tmp_path):
    hole = "\n10,5,0\n20,5,0\n20,10,0\n10,10,0\n"
    found = read_outline(csv(tmp_path, "# invented\n" + CORNERS + hole))
    assert net(found) == pytest.approx(800.0 - (2 - math.pi / 2) * 9.0 - 50.0, rel=1e-12)
    assert len(found.holes) == 1
    assert found.notes == ()


@pytest.mark.parametrize(("unit", "factor"), [("cm", 10.0), ("m", 1000.0), ("in", 25.4)])
def test_csv_in_other_units(tmp_path, unit, factor):
    found = read_outline(csv(tmp_path, f"x_{unit},y_{unit}\n0,0\n4,0\n4,2\n0,2\n0,0\n"))
    assert found.notes == (f"file in {unit}: converted to mm",)
    assert net(found) == pytest.approx(8.0 * factor**2)


def test_csv_given_clockwise_is_turned_and_said_so(tmp_path):
    found = read_outline(csv(tmp_path, "x_mm,y_mm\n0,0\n0,2\n4,2\n4,0\n"))
    assert found.notes == ("given clockwise: turned round",)
    assert signed_area(Part("p", found.outer, 1.0, Material(7e4, 0.3)).loops[0]) == pytest.approx(8.0)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("", "nothing; allowed: a header"),
        ("x,y\n0,0\n1,0\n1,1\n", "header: found x,y; allowed: x_mm,y_mm"),
        ("x_mm,y_in\n0,0\n1,0\n1,1\n", "header: found x_mm,y_in"),
        ("x_mm,y_mm\n", "no corners"),
        ("x_mm,y_mm\n0,0\n1,a\n1,1\n", "line 3, column 2: found 'a'"),
        ("x_mm,y_mm\n0,0\n1\n1,1\n", "line 3, column 2: found nothing"),
        ("x_mm,y_mm\n0,0\nnan,0\n1,inf\n", "line 3, column 1.*\n.*line 4, column 2"),
        ("x_mm,y_mm\n0,0\n1,0\n", "2 points"),
        (CORNERS.replace("40,0,3", "40,0,30"), "lines 2 to 5: outline edge 1: found roundings longer"),
        (CORNERS.replace("40,0,3", "40,0,-3"), "radius -3"),
    ],
)
def test_csv_that_is_refused(tmp_path, text, said):
    with pytest.raises(InputError, match=said):
        read_outline(csv(tmp_path, text))


def test_files_that_are_no_outlines(tmp_path):
    with pytest.raises(InputError, match="no such file"):
        read_outline(tmp_path / "none.csv")
    with pytest.raises(InputError, match="the ending"):
        read_outline(tmp_path / "a.dxf")
    with pytest.raises(InputError, match="does not start with ISO-10303-21"):
        read_outline(csv(tmp_path, "hello", "a.step"))


def test_curves_that_meet_in_threes_are_refused():
    points = [(0.0, 0.0), (4.0, 0.0), (4.0, 3.0)]
    curves = [np.linspace(points[i], points[i - 1], 9) for i in range(3)]
    curves.append(np.linspace(points[0], (2.0, 9.0), 9))
    with pytest.raises(InputError, match=r"meet at|ends at"):
        outline_of(curves, where="x")


def test_curves_are_joined_whichever_way_they_run():
    turn = np.linspace(0.0, np.pi, 65)
    half = 5.0 * np.stack([np.cos(turn), np.sin(turn)], axis=1)
    lower = np.linspace((5.0, 0.0), (-5.0, 0.0), 65)
    for curves in ([half, lower], [half[::-1], lower], [lower[::-1], half]):
        found = outline_of(curves, where="x")
        assert abs(signed_area(found.outer)) == pytest.approx(12.5 * np.pi, rel=1e-9)
