"""The contents of the workbook on its first page: the lessons, and the what-if pages by question."""

from __future__ import annotations

from IPython.display import Markdown

from helpers.study.lessons import LESSONS, WHAT_IF


def lesson_list() -> Markdown:
    """The lessons in their order, each with a link and its subject."""
    return Markdown(  # type: ignore[no-untyped-call]
        "\n".join(f"{each.number}. [{each.title}]({each.file}): {each.about}" for each in LESSONS)
    )


def question_list() -> Markdown:
    """The what-if pages with the questions that they answer."""
    return Markdown(  # type: ignore[no-untyped-call]
        "\n\n".join(
            f"**{place}**\n\n" + "\n".join(f"- [{page.asks}]({page.file}){page.more}" for page in pages)
            for place, pages in WHAT_IF.items()
        )
    )
