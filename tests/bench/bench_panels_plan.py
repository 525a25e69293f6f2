"""Speed of the plan panel with 125 stations on 10 segments, invented. The aim is 150 ms once the upload is read.

Nothing is remembered from one round to the next: each is the first view of a plan just uploaded.
"""

from datetime import UTC, datetime

import pytest
from bench.bench_plan import PLAN

from helpers.bus.cable.line_picture import LinePicture
from helpers.panels.cable.segment_drawing import line_drawing
from helpers.panels.kit.as_html import html_of
from helpers.panels.kit.fields import Upload
from helpers.panels.network.network_plan import _read, plan_panel, uploaded_plan
from helpers.plan import answers
from helpers.plan.answers import CYCLE, SHOWN, plan_answer
from helpers.plan.record import _plan_parts
from helpers.plan.save import plan_files as files_of

DRAW = {LinePicture: line_drawing}
WORKBOOK = files_of(PLAN, workbook=True)


def forget():
    files = (answers.files_of_verdict, answers.files_of_record, answers.files_of_plan)
    for kept in (answers._findings, answers._summary, _plan_parts, *files):
        kept.cache_clear()


@pytest.mark.parametrize("show", SHOWN)
def test_first_view_of_a_plan(benchmark, show):
    shown = benchmark.pedantic(
        lambda: html_of(plan_answer(PLAN, show=show), draw=DRAW), setup=forget, rounds=15, warmup_rounds=1
    )
    assert len(shown) < 400_000


def test_a_control_moved_with_the_plan_known(benchmark):
    panel = plan_panel()
    show = panel.fields["show"].widget
    panel.fields["files"].widget.value = [
        {
            "name": name,
            "type": "",
            "size": len(content),
            "content": content,
            "last_modified": datetime(2031, 1, 1, tzinfo=UTC),
        }
        for name, content in WORKBOOK.items()
    ]

    def there_and_back():
        show.value = CYCLE
        show.value = SHOWN[1]

    benchmark(there_and_back)
    assert not panel.said.value


def test_reading_the_upload(benchmark):
    files = [Upload(name, content) for name, content in WORKBOOK.items()]
    plan = benchmark.pedantic(lambda: uploaded_plan(files), setup=_read.cache_clear, rounds=5)
    assert plan.networks == PLAN.networks
