"""What a package is made of: one design, its answer, its meshed assembly."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from stiffcalc.caliper.assess import Progress, assess, silent
from stiffcalc.caliper.results import CaseResult, Results, VariantResult
from stiffcalc.handover.model import assembly
from stiffcalc.solid.model import SolidModel, solid_model
from stiffcalc.study.schema import Design, LoadCase, Study

SIZE_MM = 9.0  # of the solids the models were compared with
Cell = str | float | int | None
Rows = Sequence[Sequence[Cell]]


@dataclass(frozen=True)
class Job:
    """One layout of a study, answered and meshed; everything in the package is read from here."""

    design: Design
    results: Results  # of this layout alone
    model: SolidModel
    size: float

    @property
    def answer(self) -> VariantResult:
        """The layout's answer."""
        return self.results.variants[0]

    @property
    def cases(self) -> list[tuple[LoadCase, CaseResult]]:
        """Load cases with their answers."""
        return list(zip(self.design.load_cases, self.answer.load_cases, strict=True))

    @property
    def bolted(self) -> bool:
        """True where some joint face can open."""
        return any(b.jointed for b in self.answer.body.bridges)


def prepare(
    study: Study, design: Design, *, size: float = SIZE_MM, solid: bool = False, progress: Progress = silent
) -> Job:
    """Answer and mesh one design of a study; `size`: general element size, mm; `solid` as in `assess`."""
    progress(f"answering {design.name}")
    results = assess(replace(study, designs=(design,)), solid=solid)
    progress("meshing")
    return Job(design, results, solid_model(assembly(design), size=size), size)
