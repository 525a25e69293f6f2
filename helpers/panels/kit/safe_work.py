"""The whole text on safe work for a page: once, where the page sends a hand to a drive or a cabinet."""

from __future__ import annotations

import html
from dataclasses import dataclass

from helpers import safe_work
from helpers.panels.kit.as_html import caution, fold, steps_html


@dataclass(frozen=True)
class SafeWork:
    """All cautions of a page, the steps of isolation, what *secured* means, and who may do such work.

    unfolded: True shows the steps at once; else their names, and the steps behind them.
    """

    unfolded: bool = False

    def _repr_html_(self) -> str:
        cautions = caution(*safe_work.cautions("dead", "moves", "dust"))
        steps = steps_html(safe_work.steps("isolate"))
        shown = steps if self.unfolded else fold(safe_work.named(), steps)
        secured, who = (
            f'<p style="margin:4px 0">{lead}{html.escape(text)}</p>'
            for lead, way in (("<b>Secured against starting:</b> ", "secured"), ("", "who"))
            for text in safe_work.steps(way)
        )
        return f"{cautions}{shown}{secured}{who}"

    def __repr__(self) -> str:
        return "\n".join(safe_work.whole())
