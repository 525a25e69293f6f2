"""Speed of the panels of device descriptions. The aim is 150 ms from a changed field to the shown answer."""

from helpers.device.description.answers import OCTETS
from helpers.panels.device.description import CHOICES, description_panel, revision_panel


def test_another_description(benchmark):
    panel = description_panel()

    def change():
        for name in CHOICES[:-1]:
            panel.fields["description"].widget.value = name

    benchmark(change)


def test_another_module_with_its_drawing(benchmark):
    panel = description_panel()
    panel.fields["show"].widget.value = OCTETS

    def change():
        for name in ("PPO 4", "Mill 2/3"):
            panel.fields["place_1"].widget.value = name

    benchmark(change)


def test_two_descriptions(benchmark):
    panel = revision_panel()

    def change():
        for name in CHOICES[1:3]:
            panel.fields["new"].widget.value = name

    benchmark(change)
