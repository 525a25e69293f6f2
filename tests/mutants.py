"""Mutation testing: small changes in the code, each of which a test ought to catch. See `bash tests/run mutants`.

A mutant is one changed place in one function: a number, an operator, a comparison, a condition, a word that is a key.
In each room so many are drawn from a fixed seed; each is tried with those tests only that call the changed function,
the function's own first, and the first that fails ends it. What no test caught is listed. A mutant that no test can
catch, because nothing that can be seen differs, is named with its reason in `mutants_equivalent.csv` and not counted.

The operators are those of mutmut. Left out are mutants that crash wherever they are reached (a value replaced by
None), sentences, which the stored outputs of the notebooks hold, and what is outside of functions.

To be quick, all tests are collected once; each mutant then has a forked process, in which the changed function gets
its changed code, all caches are emptied, and the tests run.
"""

from __future__ import annotations

import argparse
import csv
import functools
import gc
import json
import os
import random
import resource
import sys
import tempfile
import time
import traceback
from collections import Counter, defaultdict
from collections.abc import Callable, Iterator, Sequence
from pathlib import Path
from types import CodeType, FunctionType
from typing import Any, NamedTuple

import hypothesis
import libcst as cst
import pytest
from libcst.metadata import MetadataWrapper, PositionProvider
from mutmut.mutation import mutators

ROOT = Path(__file__).parent.parent
ROOMS = ("device", "bus", "drive", "plan", "line", "study")
EQUIVALENT = Path(__file__).with_name("mutants_equivalent.csv")
# Not tried: what runs in other processes, where a mutant is not seen, and what only measures.
LEFT_OUT = ("browser", "bench", "shell", "test_notebooks.py", "test_opening.py", "test_project.py", "test_setup.py",
            "test_setup_interrupted.py", "test_bounds.py")  # fmt: skip
_WITH_OPERATOR = (cst.BinaryOperation, cst.UnaryOperation, cst.BooleanOperation, cst.ComparisonTarget, cst.AugAssign)
OPERATORS = (
    (cst.BaseNumber, mutators.operator_number),
    (cst.BaseString, mutators.operator_string),
    (cst.Name, mutators.operator_name),
    (cst.AugAssign, mutators.operator_augmented_assignment),
    (cst.UnaryOperation, mutators.operator_remove_unary_ops),
    (cst.Call, mutators.operator_arg_removal),
    (cst.Call, mutators.operator_symmetric_string_methods_swap),
    (cst.Call, mutators.operator_unsymmetrical_string_methods_swap),
    ((cst.BaseCompOp, cst.Break, cst.Continue), mutators.operator_keywords),
    (_WITH_OPERATOR, mutators.operator_swap_op),
    (cst.Match, mutators.operator_match),
    (cst.IfExp, mutators.operator_if_exp),
)  # fmt: skip
CAUGHT, SURVIVED, NO_TEST = "caught", "survived", "no test calls it"
# A test that takes so much longer than without the mutant does not end.
PATIENCE, AT_LEAST_S = 4.0, 20.0
PASSED, FAILED, BROKEN = 0, 1, 99

Function = tuple[str, str]  # its file, and its qualified name; what is defined inside of it belongs to it


class Mutant(NamedTuple):
    """One changed place in a function."""

    file: str
    line: int
    function: str
    was: str
    becomes: str
    source: str

    @property
    def key(self) -> tuple[str, str, str, str]:
        return self.file, self.function, self.was, self.becomes


# -- the mutants of a file ---------------------------------------------------------------------------------------------


class Places(cst.CSTVisitor):
    """Collects every place of a file that an operator can change."""

    METADATA_DEPENDENCIES = (PositionProvider,)

    def __init__(self) -> None:
        self.found: list[tuple[int, str, cst.CSTNode, list[cst.CSTNode]]] = []
        self._inside: list[cst.FunctionDef | cst.ClassDef] = []

    def on_visit(self, node: cst.CSTNode) -> bool:
        if isinstance(node, cst.Annotation | cst.Decorator | cst.Parameters) or _is_docstring(node):
            return False
        if isinstance(node, cst.FunctionDef | cst.ClassDef):
            self._inside.append(node)
        if not (function := self._function()) or isinstance(node, cst.FunctionDef):
            return True
        changed = [new for kind, operator in OPERATORS if isinstance(node, kind) for new in operator(node)]
        changed = [new for new in changed if _worth_trying(node, new)]
        if changed:
            line = self.get_metadata(PositionProvider, node).start.line
            self.found.append((line, function, node, changed))
        return True

    def on_leave(self, node: cst.CSTNode) -> None:
        if isinstance(node, cst.FunctionDef | cst.ClassDef):
            self._inside.pop()

    def _function(self) -> str:
        """The qualified name of the outermost function around this place; empty outside of functions."""
        kinds = [isinstance(each, cst.FunctionDef) for each in self._inside]
        return ".".join(each.name.value for each in self._inside[: kinds.index(True) + 1]) if any(kinds) else ""


def _is_docstring(node: cst.CSTNode) -> bool:
    return isinstance(node, cst.Expr) and isinstance(node.value, cst.SimpleString | cst.ConcatenatedString)


def _worth_trying(node: cst.CSTNode, new: cst.CSTNode) -> bool:
    """False for a sentence, and for an argument that is not left out by its name: the call would fail anyhow."""
    if isinstance(node, cst.SimpleString):
        return " " not in node.value
    if isinstance(node, cst.Call) and isinstance(new, cst.Call) and len(new.args) < len(node.args):
        return bool(set(_keywords(node)) - set(_keywords(new)))
    return not (isinstance(node, cst.Call) and isinstance(new, cst.Call) and new.func is node.func)


def _keywords(call: cst.Call) -> Iterator[str]:
    return (argument.keyword.value for argument in call.args if argument.keyword)


@functools.cache
def places_of(path: Path) -> tuple[cst.Module, list[tuple[int, str, cst.CSTNode, list[cst.CSTNode]]]]:
    """The parsed file, and its places: line, qualified name of the function, what stands there, what may."""
    visitor = Places()
    module = MetadataWrapper(cst.parse_module(path.read_text(encoding="utf-8")), unsafe_skip_copy=True).visit(visitor)
    return module, visitor.found


def drawn(room: str, number: int, seed: int, equivalent: frozenset[tuple[str, ...]]) -> tuple[list[Mutant], int]:
    """So many different mutants of a room, and how many equivalent ones were drawn beside them.

    A file is drawn by its size, then a place in it, then one of the changes there.
    """
    chance = random.Random(f"{room} {seed}")
    paths = sorted(path for path in (ROOT / "helpers" / room).rglob("*.py") if path.name != "__init__.py")
    sizes = [path.stat().st_size for path in paths]
    mutants: dict[tuple[str, ...], Mutant] = {}
    left_out = set()
    while len(mutants) < number:
        (path,) = chance.choices(paths, sizes)
        module, places = places_of(path)
        if not places:
            continue
        line, function, node, changed = chance.choice(places)
        new = chance.choice(changed)
        source = module.deep_replace(node, new).code
        mutant = Mutant(str(path.relative_to(ROOT)), line, function, _code(module, node), _code(module, new), source)
        if mutant.key in equivalent:
            left_out.add(mutant.key)
        else:
            mutants.setdefault(mutant.key, mutant)
    return list(mutants.values()), len(left_out)


def _code(module: cst.Module, node: cst.CSTNode) -> str:
    return " ".join(module.code_for_node(node).split())


def equivalent_mutants() -> frozenset[tuple[str, ...]]:
    """The mutants that no test can catch: file, function, what stands there, what would."""
    with EQUIVALENT.open(encoding="utf-8", newline="") as file:
        return frozenset((row["file"], row["function"], row["was"], row["becomes"]) for row in csv.DictReader(file))


# -- processes ---------------------------------------------------------------------------------------------------------


def in_processes(jobs: Sequence[Callable[[Path], int]], processors: int) -> Iterator[tuple[int, int, str]]:
    """Run each job in a forked process: its number, its exit status (negative: ended by a signal), what it wrote."""
    waiting = list(enumerate(jobs))[::-1]
    running: dict[int, tuple[int, Path]] = {}
    with tempfile.TemporaryDirectory() as folder:
        while waiting or running:
            while waiting and len(running) < processors:
                number, job = waiting.pop()
                note = Path(folder) / str(number)
                running[_forked(job, note)] = number, note
            process, status = os.wait()
            number, note = running.pop(process)
            yield number, os.waitstatus_to_exitcode(status), note.read_text("utf-8") if note.exists() else ""


def _forked(job: Callable[[Path], int], note: Path) -> int:
    process = os.fork()
    if process:
        return process
    try:
        nowhere = os.open(os.devnull, os.O_RDWR)
        for stream in (0, 1, 2):
            os.dup2(nowhere, stream)
        status = job(note)
    except BaseException:
        note.write_text(traceback.format_exc(), encoding="utf-8")
        status = BROKEN
    os._exit(status)


# -- tests -------------------------------------------------------------------------------------------------------------


class Reached(NamedTuple):
    """One test: where it stands in the collected list, its file, the functions it calls, processor time in s."""

    number: int
    file: str
    functions: frozenset[Function]
    seconds: float


def test_files() -> list[str]:
    """Every file of tests that may see a mutant, and every file of the rooms that has an example to run."""
    tests = [path for path in (ROOT / "tests").rglob("test_*.py")
             if not set(LEFT_OUT) & set(path.relative_to(ROOT / "tests").parts)]  # fmt: skip
    modules = [path for room in ROOMS for path in (ROOT / "helpers" / room).rglob("*.py")]
    return sorted(str(path) for path in tests + [path for path in modules if ">>>" in path.read_text("utf-8")])


def run(items: Sequence[pytest.Item]) -> Iterator[bool]:
    """Run tests one after the other: whether each passed, was skipped or failed as it should."""
    failed: list[bool] = []

    class Watch:
        def pytest_runtest_logreport(self, report: pytest.TestReport) -> None:
            failed.append(report.failed)

    for number, item in enumerate(items):
        item.config.pluginmanager.register(watch := Watch())
        following = items[number + 1] if number + 1 < len(items) else None
        item.ihook.pytest_runtest_protocol(item=item, nextitem=following)
        item.config.pluginmanager.unregister(watch)
        yield not any(failed)
        failed.clear()


def look(items: Sequence[tuple[int, pytest.Item]], note: Path) -> int:
    """Run the tests of one file, and write for each that passes what it calls and how long it takes."""
    called: set[CodeType] = set()

    def see(frame: Any, event: str, _: Any) -> None:
        if event == "call":
            called.add(frame.f_code)

    home, keeping, rows, begun = str(ROOT / "helpers"), caches(), [], time.process_time()
    going = run([item for _, item in items])
    for number, _ in items:
        for kept in keeping:  # a test that finds a value kept by the one before it calls nothing
            kept.cache_clear()
        sys.setprofile(see)
        passed = next(going)
        sys.setprofile(None)
        now = time.process_time()
        functions = {(os.path.relpath(code.co_filename, ROOT), outer(code.co_qualname))
                     for code in called if code.co_filename.startswith(home)}  # fmt: skip
        rows.append((number, passed, sorted(functions), now - begun))
        called.clear()
        begun = now
    note.write_text(json.dumps(rows), encoding="utf-8")
    return PASSED


def outer(qualified: str) -> str:
    """The function around everything that is defined in it."""
    return qualified.split(".<locals>")[0]


def caches() -> list[Any]:
    """The caches of the rooms: a kept value would hide that its function has changed."""
    homes = tuple(f"helpers.{room}." for room in ROOMS)
    functions = [each for each in gc.get_objects() if isinstance(each, functools._lru_cache_wrapper)]
    return [each for each in functions if str(each.__module__).startswith(homes)]


def reach(items: Sequence[pytest.Item], processors: int) -> list[Reached]:
    """What each test calls. One that fails without any mutant is left out."""
    files: dict[Path, list[tuple[int, pytest.Item]]] = defaultdict(list)
    for number, item in enumerate(items):
        files[item.path].append((number, item))
    jobs = [lambda note, each=each: look(each, note) for each in files.values()]
    reached: list[Reached] = []
    for done, (job, status, written) in enumerate(in_processes(jobs, processors), 1):
        print(f"\r{done} of {len(files)} files of tests are looked at", end="", flush=True)
        if status != PASSED:
            print(f"\n{list(files)[job]} is left out (status {status}): {written[-600:]}")
            continue
        for number, passed, functions, seconds in json.loads(written):
            if passed:
                file = os.path.relpath(items[number].path, ROOT)
                reached.append(Reached(number, file, frozenset(map(tuple, functions)), seconds))
            else:
                print(f"\n{items[number].nodeid} fails without any mutant and is left out.")
    print()
    return reached


def tests_for(mutant: Mutant, reached: Sequence[Reached], bound_s: float) -> list[Reached]:
    """The tests that call the changed function: those of its own file first, then the quick ones, within the bound."""
    own = (mutant.file, f"test_{Path(mutant.file).name}")
    calling = [each for each in reached if (mutant.file, mutant.function) in each.functions]
    calling.sort(key=lambda each: (not each.file.endswith(own), each.seconds))
    chosen: list[Reached] = []
    for each in calling:
        if not chosen or sum(other.seconds for other in chosen) + each.seconds <= bound_s:
            chosen.append(each)
    return chosen


# -- trying ------------------------------------------------------------------------------------------------------------


def put_in(mutant: Mutant) -> None:
    """Give the changed function its changed code."""
    path = str(ROOT / mutant.file)
    genuine = _codes(compile((ROOT / mutant.file).read_text("utf-8"), path, "exec", dont_inherit=True), mutant.function)
    changed = _codes(compile(mutant.source, path, "exec", dont_inherit=True), mutant.function)
    lines = [code.co_firstlineno for code in genuine]
    functions = [each for each in gc.get_objects() if isinstance(each, FunctionType)
                 and each.__code__.co_filename == path and each.__code__.co_qualname == mutant.function]  # fmt: skip
    if not functions:
        raise LookupError(f"{mutant.function} of {mutant.file} is not loaded")
    for each in functions:
        each.__code__ = changed[lines.index(each.__code__.co_firstlineno)]


def _codes(module: CodeType, function: str) -> list[CodeType]:
    """All code of this qualified name, in the order of the file: a property and its setter have the same."""
    inside = [each for each in module.co_consts if isinstance(each, CodeType)]
    return [code for each in inside for code in ([each] if each.co_qualname == function else _codes(each, function))]


def try_one(mutant: Mutant, items: Sequence[pytest.Item], bound_s: float, _: Path) -> int:
    """Run the tests with the changed code until one fails, in bounded processor time."""
    resource.setrlimit(resource.RLIMIT_CPU, (round(bound_s), round(bound_s) + 1))
    put_in(mutant)
    for kept in caches():
        kept.cache_clear()
    return PASSED if all(run(items)) else FAILED


def tried(
    mutants: Sequence[Mutant], items: Sequence[pytest.Item], reached: Sequence[Reached], bound_s: float, processors: int
) -> list[str]:
    """What came of each mutant."""
    tests = [tests_for(mutant, reached, bound_s) for mutant in mutants]
    numbers = [number for number, each in enumerate(tests) if each]
    jobs = []
    for number in numbers:
        chosen = [items[each.number] for each in tests[number]]
        longest_s = AT_LEAST_S + PATIENCE * sum(each.seconds for each in tests[number])
        jobs.append(functools.partial(try_one, mutants[number], chosen, longest_s))
    came = [SURVIVED if each else NO_TEST for each in tests]
    for done, (job, status, written) in enumerate(in_processes(jobs, processors), 1):
        print(f"\r{done} of {len(jobs)} mutants", end="", flush=True)
        if status == BROKEN:
            print(f"\n{mutants[numbers[job]][:5]} could not be tried: {written[-600:]}")
        elif status != PASSED:
            came[numbers[job]] = CAUGHT
    return came


class Driver:
    """What pytest is given: instead of running all tests it draws mutants and tries them."""

    def __init__(self, asked: argparse.Namespace) -> None:
        self.asked = asked

    @pytest.hookimpl(tryfirst=True)
    def pytest_runtestloop(self, session: pytest.Session) -> bool:
        asked = self.asked
        reached = reach(session.items, asked.processors)
        known, lines = equivalent_mutants(), []
        for room in asked.rooms:
            begun = time.monotonic()
            mutants, equivalent = drawn(room, asked.each, asked.seed, known)
            came = tried(mutants, session.items, reached, asked.bound, asked.processors)
            print(f"\n{room}: what no test caught")
            for mutant, what in zip(mutants, came, strict=True):
                if what != CAUGHT:
                    print(
                        f"  {mutant.file}:{mutant.line} {mutant.function}: {mutant.was}  =>  {mutant.becomes}  ({what})"
                    )
            count = Counter(came)
            lines.append(
                f"{room:8} {count[CAUGHT] / len(mutants):5.0%} of {len(mutants)} caught, {count[NO_TEST]} called by no "
                f"test, {equivalent} equivalent not counted, {time.monotonic() - begun:.0f} s"
            )
        print("", *lines, sep="\n")
        return True


def main() -> int:
    """Draw, try, say."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--rooms", nargs="+", default=ROOMS, help="the rooms to draw in, or rooms in them, as bus/time")
    parser.add_argument("--each", type=int, default=150, help="mutants in each room (150)")
    parser.add_argument("--seed", type=int, default=1, help="of the draw (1)")
    parser.add_argument(
        "--bound", type=float, default=60.0, help="processor time of all tests for one mutant, in s (60)"
    )
    parser.add_argument("--processors", type=int, default=os.cpu_count() or 1)
    parser.add_argument("--tests", nargs="+", help="only these files of tests")
    asked = parser.parse_args()
    os.chdir(ROOT)
    # Drawn examples are the same in every run, and not made smaller: that a test fails is enough.
    phases = (hypothesis.Phase.explicit, hypothesis.Phase.generate)
    calm = hypothesis.settings(deadline=None, derandomize=True, database=None, phases=phases)
    hypothesis.settings.register_profile("mutants", calm)
    options = ["-p", "no:benchmark", "-p", "no:xdist", "-s", "--hypothesis-profile=mutants",
               "-W", "ignore::pytest.PytestAssertRewriteWarning"]  # fmt: skip
    return int(pytest.main([*options, *(asked.tests or test_files())], plugins=[Driver(asked)]))


if __name__ == "__main__":
    sys.exit(main())
