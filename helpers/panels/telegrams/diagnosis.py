"""The diagnosis reader: its bits as a drawing, and the panel with the choice of a description."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from helpers.answer import Answer
from helpers.bus.recording.diagnosis_answer import DiagnosisPicture, diagnosis_answer, examples
from helpers.bus.services import slave_diag
from helpers.device.description.model import Description
from helpers.panels.device.description import ACCEPTED, CHOICES, UPLOADED, description_called
from helpers.panels.kit import fields
from helpers.panels.kit.drawing import GREY, INK, PAPER, SAND, SKY, Drawing
from helpers.panels.kit.fields import Field, Upload
from helpers.panels.kit.panel import Panel
from helpers.panels.telegrams.telegrams import with_examples

NO_DESCRIPTION = "– none –"
DPV1 = {"not known": None, "yes": True, "no": False}
_COLUMN, _LINE, _TOP = 196.0, 17.0, 24.0


def bits_drawing(picture: DiagnosisPicture) -> Drawing:
    """The three octets of bits side by side, bit 7 at the top; then master and ident number."""
    octets, rows, diagnosed = picture.octets, picture.rows, picture.diagnosed
    sheet = Drawing(758, _TOP + 8 * _LINE + 8, picture.says)
    for n in slave_diag.BIT_OCTETS:
        x = 6 + (n - 1) * _COLUMN
        sheet.text(x, 16, f"octet {n}: {octets[n - 1]:02X}", size=13, anchor="start", bold=True)
        for row in rows:
            if row.octet != n:
                continue
            y = _TOP + (7 - row.bit) * _LINE
            sheet.box(x + 14, y, 16, 14, fill=INK if row.value else PAPER, line=1)
            sheet.text(x + 22, y + 11, row.value, size=11, bold=True, fill=PAPER if row.value else GREY)
            sheet.text(x + 4, y + 11, row.bit, size=11, fill=GREY)
            name = row.name if not row.name.startswith("reserved") else "reserved"
            sheet.text(x + 36, y + 12, name, size=12, anchor="start", bold=bool(row.value),
                       fill=INK if row.value else GREY)  # fmt: skip
    x = 6 + 3 * _COLUMN
    given, whole = diagnosed.given, slave_diag.STANDARD_OCTETS
    master = (
        "FF: no master"
        if diagnosed.master == slave_diag.NO_MASTER
        else f"{diagnosed.master:02X}: master {diagnosed.master}"
    )
    behind = len(octets) - whole
    others = (
        ("octet 4", master if given > len(slave_diag.BIT_OCTETS) else "not given", SKY),
        ("octets 5 and 6", f"ident 16#{diagnosed.ident:04X}" if given == whole else "not given", SKY),
        ("octets 7 and on", f"{behind} in blocks" if behind > 0 else "none" if given == whole else "not given", SAND),
    )
    for n, (name, said, fill) in enumerate(others):
        sheet.text(x, 16 + n * 46, name, size=13, anchor="start", bold=True)
        sheet.box(x, 22 + n * 46, 148, 20, fill=fill, line=1)
        sheet.text(x + 6, 36 + n * 46, said, size=12, anchor="start")
    return sheet


def description_or_none() -> tuple[Field, Field]:
    """A list of descriptions that begins with none, and a button to upload one; an upload turns the list to it."""
    choice = fields.choice("description", [NO_DESCRIPTION, *CHOICES])
    files = fields.upload("Upload your own", ACCEPTED)

    def uploaded(_: Any) -> None:
        choice.widget.value = UPLOADED

    files.widget.observe(uploaded, "value")
    return choice, files


def chosen_description(choice: str, files: Sequence[Upload]) -> Description | None:
    """The description chosen; None for none."""
    return None if choice == NO_DESCRIPTION else description_called(choice, files)


def diagnosis_panel() -> Panel:
    """Paste a diagnosis, or choose an example: what it means, where to look first, what to do."""
    choice, files = description_or_none()

    def answer(text: str, number: int, description: str, files: Sequence[Upload], dpv1: str) -> Answer:
        return diagnosis_answer(
            text, number=number, description=chosen_description(description, files), dpv1=DPV1[dpv1]
        )

    return Panel(
        "What does this diagnosis mean?",
        {
            "text": with_examples("octets", examples(), rows=5),
            "number": fields.whole("no. in the text", "1", 1, 1_000_000),
            "description": choice,
            "files": files,
            "dpv1": fields.choice("works by DPV1", list(DPV1)),
        },
        answer,
        draw={DiagnosisPicture: bits_drawing},
        hint="Six octets or more, or the first three alone; a whole telegram, or a recording; any usual spelling. The "
        "station's own texts come from its description. The examples are from Saltmarsh Mill, an invented site. Bit 7 "
        "is the highest; it stands at the left when an octet is written out.",
    )
