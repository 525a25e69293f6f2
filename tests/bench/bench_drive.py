"""How fast the drive's calculations are. Run: pytest tests/bench/bench_drive.py."""

import numpy as np

from helpers.drive import command_sequence, scaling, states, timeline, words
from helpers.drive.obstacles import obstacles
from helpers.drive.parameters import acyclic_service, parameter_channel
from helpers.drive.parameters.acyclic import Address, Request

ALL = np.arange(0x10000)


def test_decode_a_word(benchmark):
    benchmark(words.decode, 0x047F)


def test_one_step(benchmark):
    benchmark(states.step, "operation", 0x047F, 0x047E)


def test_all_words_in_all_states(benchmark):
    benchmark(lambda: [states.next_states(state, 0x047E, ALL) for state in states.STATES])


def test_what_the_state_panel_calculates(benchmark):
    """A step, the words for every wish, the obstacles, both words decoded."""

    def panel():
        found = states.settle("switching on inhibited", 0, 0x047F)
        obstacles("switching on inhibited", 0, 0x047F, setpoint=0)
        [command_sequence.shortest(wish, "switching on inhibited") for wish in command_sequence.wishes()]
        return words.decode(0x047F), words.decode(found[-1].status, "status")

    benchmark(panel)


def test_shortest_sequence_from_a_fault(benchmark):
    benchmark(command_sequence.shortest, "run", "fault", 0x04FE)


def test_scale(benchmark):
    benchmark(scaling.scale, -1234.5, reference=3000, unit="rpm")


def test_parameter_channel(benchmark):
    octets = bytes.fromhex("139A000000000065")
    benchmark(lambda: parameter_channel.explain_answer(parameter_channel.decode(octets)))


def test_acyclic_request_of_39_parameters(benchmark):
    request = Request("read", (Address(918),) * 39)
    benchmark(lambda: acyclic_service.explain(acyclic_service.encode(acyclic_service.written(request))))


def test_record_of_ten_thousand_lines(benchmark):
    lines = [f"{n},16#{0x047E + n % 2:04X},16#{0x0231 + n % 7:04X}" for n in range(10_000)]
    text = "\n".join(["time (ms),control,status", *lines])

    def anew():
        timeline._events.cache_clear()
        timeline.events(timeline.read(text))

    benchmark(anew)
