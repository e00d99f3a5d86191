"""What every published answer begins with, whatever it answers."""

from __future__ import annotations

from typing import Protocol


class Headed(Protocol):
    """An answer about one study."""

    @property
    def title(self) -> str:
        """Title of the study."""
        ...

    @property
    def note(self) -> str:
        """Note of the study."""
        ...

    @property
    def sha256(self) -> str:
        """Hash of the study file."""
        ...

    @property
    def version(self) -> str:
        """Version of the tool."""
        ...

    @property
    def cautions(self) -> tuple[str, ...]:
        """What the answer is not."""
        ...

    @property
    def defaults_used(self) -> tuple[str, ...]:
        """One line for each default."""
        ...

    @property
    def notices(self) -> tuple[str, ...]:
        """What a reader should know beside the figures."""
        ...

    @property
    def verdict(self) -> str:
        """The answer in words."""
        ...


def heading(found: Headed) -> dict[str, object]:
    """The keys that all answers of format 1 share, as plain strings and lists."""
    return {
        "format": 1,
        "tool": {"name": "stiffcalc", "version": found.version},
        "study": {"title": found.title, "note": found.note, "sha256": found.sha256},
        "cautions": list(found.cautions),
        "defaults_used": list(found.defaults_used),
        "notices": list(found.notices),
        "verdict": found.verdict,
    }
