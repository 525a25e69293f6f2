"""`parameter`: the octets of parameter tasks, what octets say, and what an error number means."""

from __future__ import annotations

from argparse import ArgumentParser, Namespace

from helpers.device.identifiers import octets_from_text
from helpers.drive import acyclic_service, parameter_channel
from helpers.drive.parameter_text import acyclic_request, request, tasks
from helpers.drive.parameters import profile_parameter, refusal
from helpers.errors import Unknown
from helpers.shell.command import Command
from helpers.shell.text import paragraph, table
from helpers.written import whole

_CAUTION = (
    "Caution: writing a parameter can change how the machine moves. Drive stopped and secured against starting, unless "
    "its manual allows the change while it runs. Note the value before. What is not stored (971) is lost at power off."
)


def _task_arguments(parser: ArgumentParser) -> None:
    parser.add_argument("task", nargs="+", help='"read 918", "read 964.2", "write 110 = 95", "write32 121 = -70000"')
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
            print(f"{task.text}: {parameter_channel.encode(made_task).hex(' ').upper()}")
            print(table([vars(field) for field in parameter_channel.explain_request(made_task)]))
    if any(task.action.startswith("write") for task in listed):
        print(f"\n{paragraph(_CAUTION)}")
    return 0


def _read_arguments(parser: ArgumentParser) -> None:
    parser.add_argument("octets", nargs="+", help="8 octets of the cyclic channel, or an acyclic service")
    parser.add_argument("--request", default="", help="the octets of the request, to see whether the answer belongs")


def _read(asked: Namespace) -> int:
    octets = octets_from_text(" ".join(asked.octets))
    if not asked.request and _acyclic(octets):
        print(_parts(octets))
        return 0
    answer = parameter_channel.decode(octets)
    print(table([vars(field) for field in parameter_channel.explain_answer(answer)]))
    if asked.request:
        wanted = parameter_channel.decode(octets_from_text(asked.request))
        print(f"\n{paragraph(parameter_channel.match(wanted, answer).sentence)}")
    return 0


def _acyclic(octets: bytes) -> bool:
    """Eight octets could be either; then data record 47 and the length that follow tell."""
    known = octets[0] & ~acyclic_service.REFUSED in (acyclic_service.READ, acyclic_service.WRITE)
    return known and (len(octets) != parameter_channel.OCTETS or octets[2:4] == bytes((acyclic_service.DATA_RECORD, 4)))


def _parts(octets: bytes) -> str:
    return table([vars(part) for part in acyclic_service.explain(octets)])


def _about_arguments(parser: ArgumentParser) -> None:
    parser.add_argument("number", help="a parameter number of the profile; or an error number after --error")
    parser.add_argument("--error", action="store_true", help="the number is an error number of a refusal")


def _about(asked: Namespace) -> int:
    number = whole(asked.number)
    if asked.error:
        refused = refusal(number)
        print(paragraph(refused.sentence))
        print(paragraph(f"{refused.source} ({refused.standing})"))
        return 0
    known = profile_parameter(number)
    if known is None:
        raise Unknown(f"{number} is not in the profile's list: a number of the maker's own, see the drive's manual.")
    print(paragraph(f"{known.number}: {known.name}" + (f", {known.type}" if known.type else "")))
    print(paragraph(" ".join(text for text in (known.remark, f"[{known.source}; {known.standing}]") if text)))
    return 0


PARAMETER = Command(
    "parameter",
    "read or write a parameter: octets, answers, numbers, errors",
    parts=(
        Command(
            "task",
            "the octets of parameter tasks",
            """\
$ python -m helpers parameter task "read 922"
read 922: 13 9A 00 00 00 00 00 00
...
PKE bits 10-0   13 9A        parameter 922 (selected telegram)
...

$ python -m helpers parameter task "read 918" --acyclic --reference 9 --slot 1
5F 01 2F 0A 09 01 01 01 10 00 03 96 00 00
...
""",
            _task_arguments,
            _write,
        ),
        Command(
            "answer",
            "what octets of a parameter answer say",
            """\
$ python -m helpers parameter answer 13 9A 00 00 00 00 00 65 --request "13 9A 00 00 00 00 00 00"
...
Answered: 101 (16#0065).

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
Error 17: the task cannot be executed in the present operating state. Stop the drive as its manual
says, then repeat the task.
...
""",
            _about_arguments,
            _about,
        ),
    ),
)
