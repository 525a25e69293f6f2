"""`parameter`: the octets of parameter tasks, what octets say, and what an error number means."""

from __future__ import annotations

from argparse import ArgumentParser, Namespace

from helpers.device.identifiers import octets_from_text
from helpers.drive.parameters import acyclic_service, parameter_channel
from helpers.drive.parameters.acyclic_answers import octets_answer
from helpers.drive.parameters.channel_answers import (
    error_answer,
    error_number,
    parameter_answer,
    reply_answer,
    task_answer,
)
from helpers.drive.parameters.parameter_text import acyclic_request, request, tasks
from helpers.shell.command import Command
from helpers.shell.text import say
from helpers.written import whole


def _index_argument(parser: ArgumentParser) -> None:
    parser.add_argument(
        "--ind",
        default=parameter_channel.PLAIN,
        choices=parameter_channel.INDEX_USES,
        help=f'what the two octets of IND hold, as the drive\'s manual says ("{parameter_channel.PLAIN}"); '
        f"numbers above {parameter_channel.PAGE - 1} need a page",
    )


def _task_arguments(parser: ArgumentParser) -> None:
    parser.add_argument("task", nargs="+", help='"read 918", "read 964.2", "write 110 = 95", "write32 121 = -70000"')
    _index_argument(parser)
    parser.add_argument("--acyclic", action="store_true", help="one acyclic request for all tasks")
    parser.add_argument("--reference", default="1", help="request reference (1)")
    parser.add_argument("--axis", default="1", help="axis or drive object (1)")
    parser.add_argument("--slot", default="0", help="slot of the acyclic service (0)")


def _write(asked: Namespace) -> int:
    listed = tasks("\n".join(asked.task))
    if asked.acyclic:
        made = acyclic_request(listed, reference=whole(asked.reference), axis=whole(asked.axis))
        return say(octets_answer(acyclic_service.encode(acyclic_service.written(made, slot=whole(asked.slot)))))
    for n, task in enumerate(listed):
        print("\n" * bool(n), end="")
        say(task_answer(request(task), ind=asked.ind, value=task.value))
    return 0


def _read_arguments(parser: ArgumentParser) -> None:
    parser.add_argument("octets", nargs="+", help="8 octets of the cyclic channel, or an acyclic service")
    parser.add_argument("--request", default="", help="the octets of the request, to see whether the answer belongs")
    _index_argument(parser)


def _read(asked: Namespace) -> int:
    octets = octets_from_text(" ".join(asked.octets))
    if not asked.request and _acyclic(octets):
        return say(octets_answer(octets))
    return say(reply_answer(octets_from_text(asked.request) if asked.request else None, octets, asked.ind))


def _acyclic(octets: bytes) -> bool:
    """Eight octets could be either; then data record 47 and the length that follow tell."""
    known = octets[0] & ~acyclic_service.REFUSED in (acyclic_service.READ, acyclic_service.WRITE)
    return known and (len(octets) != parameter_channel.OCTETS or octets[2:4] == bytes((acyclic_service.DATA_RECORD, 4)))


def _about_arguments(parser: ArgumentParser) -> None:
    parser.add_argument("number", help="a parameter number of the profile; or an error number after --error: 17, B5")
    parser.add_argument("--error", action="store_true", help="the number is an error number of a refusal")


def _about(asked: Namespace) -> int:
    return say(error_answer(error_number(asked.number)) if asked.error else parameter_answer(whole(asked.number)))


PARAMETER = Command(
    "parameter",
    "read or write a parameter: octets, answers, numbers, errors",
    parts=(
        Command(
            "task",
            "the octets of parameter tasks",
            """\
$ python -m helpers parameter task "read 918"
13 96 00 00 00 00 00 00. The demo drive answers 13 96 00 00 00 00 00 15.
...
request  PKE bits 10-0   13 96        parameter 918 (station address)
...

$ python -m helpers parameter task "read 2110" --ind "page number, subindex"
10 6E 01 00 00 00 00 00. The demo drive answers 70 6E 01 00 00 00 00 00.
...

$ python -m helpers parameter task "read 110" --acyclic --reference 37 --slot 2
A request to read 1 parameter, reference 37.
5F 02 2F 0A 25 01 01 01 10 00 00 6E 00 00
...
""",
            _task_arguments,
            _write,
        ),
        Command(
            "answer",
            "what octets of a parameter answer say",
            """\
$ python -m helpers parameter answer 10 6E 00 00 00 00 00 50 --request "10 6E 00 00 00 00 00 00"
Answer 1, parameter 110: 80 (16#0050).
Answered: 80 (16#0050).
...

$ python -m helpers parameter answer DE 80 B5 00
...
""",
            _read_arguments,
            _read,
        ),
        Command(
            "about",
            "what a parameter number of the profile, or an error number, means",
            """\
$ python -m helpers parameter about 971
971: store in the memory that survives power off, Unsigned16
...

$ python -m helpers parameter about --error 17
Error number 17 (16#11): what it means depends on where it stood.
...
an answer 7 of the cyclic channel                  Error 17: the task cannot be executed in the
                                                   present operating state. Stop the drive as its
                                                   manual says, then repeat the task.
...

$ python -m helpers parameter about --error B5
...
a refused acyclic service (DE or DF), as error     16#B5: access, state conflict: the drive is still
code 1                                             working on the request: read again.
""",
            _about_arguments,
            _about,
        ),
    ),
)
