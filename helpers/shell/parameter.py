"""`parameter`: the octets of parameter tasks, what octets say, and what an error number means."""

from __future__ import annotations

import re
from argparse import ArgumentParser, Namespace

from helpers.device.identifiers import octets_from_text
from helpers.drive.parameters import acyclic_service, parameter_channel
from helpers.drive.parameters.access import profile_parameter, refusal
from helpers.drive.parameters.parameter_match import doubt, match
from helpers.drive.parameters.parameter_text import acyclic_request, request, tasks
from helpers.errors import Unknown, in_range
from helpers.safe_work import cautions, in_words
from helpers.shell.command import Command
from helpers.shell.text import paragraph, table
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
        octets = acyclic_service.encode(acyclic_service.written(made, slot=whole(asked.slot)))
        print(paragraph(octets.hex(" ").upper()))
        print(_parts(octets))
    else:
        for task in listed:
            made_task = request(task)
            print(f"{task.text}: {parameter_channel.encode(made_task, index=asked.ind).hex(' ').upper()}")
            print(table([vars(field) for field in parameter_channel.explain_request(made_task, index=asked.ind)]))
    if any(task.action.startswith("write") for task in listed):
        print(f"\n{paragraph(in_words(cautions('write')))}")
    return 0


def _read_arguments(parser: ArgumentParser) -> None:
    parser.add_argument("octets", nargs="+", help="8 octets of the cyclic channel, or an acyclic service")
    parser.add_argument("--request", default="", help="the octets of the request, to see whether the answer belongs")
    _index_argument(parser)


def _read(asked: Namespace) -> int:
    octets = octets_from_text(" ".join(asked.octets))
    if not asked.request and _acyclic(octets):
        print(_parts(octets))
        return 0
    answer = parameter_channel.decode(octets, index=asked.ind)
    print(table([vars(field) for field in parameter_channel.explain_answer(answer, index=asked.ind)]))
    if asked.request:
        wanted = parameter_channel.decode(octets_from_text(asked.request), index=asked.ind)
        print(f"\n{paragraph(match(wanted, answer, index=asked.ind).sentence)}")
    elif told := doubt(answer, index=asked.ind):
        print(f"\n{paragraph(told)}")
    return 0


def _acyclic(octets: bytes) -> bool:
    """Eight octets could be either; then data record 47 and the length that follow tell."""
    known = octets[0] & ~acyclic_service.REFUSED in (acyclic_service.READ, acyclic_service.WRITE)
    return known and (len(octets) != parameter_channel.OCTETS or octets[2:4] == bytes((acyclic_service.DATA_RECORD, 4)))


def _parts(octets: bytes) -> str:
    return table([vars(part) for part in acyclic_service.explain(octets)])


def _about_arguments(parser: ArgumentParser) -> None:
    parser.add_argument("number", help="a parameter number of the profile; or an error number after --error: 17, B5")
    parser.add_argument("--error", action="store_true", help="the number is an error number of a refusal")


def _about(asked: Namespace) -> int:
    if asked.error:
        print(_errors(_error_number(asked.number)))
        return 0
    number = whole(asked.number)
    known = profile_parameter(number)
    if known is None:
        raise Unknown(f"{number} is not in the profile's list: a number of the maker's own, see the drive's manual.")
    print(paragraph(f"{known.number}: {known.name}" + (f", {known.type}" if known.type else "")))
    print(paragraph(" ".join(text for text in (known.remark, f"[{known.source}; {known.standing}]") if text)))
    return 0


def _error_number(typed: str) -> int:
    """Codes of a refused service are printed bare: B5. Digits alone are decimal, as error numbers are printed."""
    bare = re.fullmatch(r"[0-9a-f]{2}", typed.strip(), re.IGNORECASE) and not typed.strip().isdecimal()
    number = int(typed, 16) if bare else whole(typed)
    in_range("error number", number, 0, 0xFFFF, source="one word")
    return number


def _errors(number: int) -> str:
    """The number in each of the three tables: which one holds depends on where it stood."""
    blocks = []
    places = (("In an answer 7 of the cyclic channel", False), ("In an acyclic parameter response", True))
    for place, acyclic in places:
        told = refusal(number, acyclic=acyclic)
        blocks.append((place, told.sentence, f"{told.source} ({told.standing})" if told.source else told.standing))
    row = acyclic_service.service_error(number)
    place = "As error code 1 of a refused acyclic service (DE or DF)"
    if row is not None:
        use = f": {row['with_parameters']}" if row.has("with_parameters") else ""
        blocks.append((place, f"{row['code']}: {row['class']}, {row['meaning']}{use}.", row.cited))
    else:
        blocks.append((place, f"16#{number:02X} is not in the table.", ""))
    return "\n\n".join(
        "\n".join(paragraph(f"  {text}" if n else f"{text}:", "  ") for n, text in enumerate(block) if text)
        for block in blocks
    )


PARAMETER = Command(
    "parameter",
    "read or write a parameter: octets, answers, numbers, errors",
    parts=(
        Command(
            "task",
            "the octets of parameter tasks",
            """\
$ python -m helpers parameter task "read 918"
read 918: 13 96 00 00 00 00 00 00
...
PKE bits 10-0   13 96        parameter 918 (station address)
...

$ python -m helpers parameter task "read 2110" --ind "page number, subindex"
read 2110: 10 6E 01 00 00 00 00 00
...

$ python -m helpers parameter task "read 110" --acyclic --reference 37 --slot 2
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
...
Answered: 80 (16#0050).

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
In an answer 7 of the cyclic channel:
  Error 17: the task cannot be executed in the present operating state. Stop the drive as its manual
  says, then repeat the task.
...

$ python -m helpers parameter about --error B5
...
  16#B5: access, state conflict: the drive is still working on the request: read again.
...
""",
            _about_arguments,
            _about,
        ),
    ),
)
