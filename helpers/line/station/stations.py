"""Makes what lives behind a station's bus connection, and keeps it and the installation of one mind."""

from __future__ import annotations

from helpers.drive.parameters.parameter_store import demo_store
from helpers.drive.settings import Settings, power_cycle
from helpers.line.plant.installation import Device
from helpers.line.station.application import Application
from helpers.line.station.drive import DriveApplication
from helpers.line.station.machine import Machine, plate
from helpers.line.station.remote_io import RemoteIO


def make(device: Device) -> Application:
    """The application of a device: a drive with its motor and machine, or inputs and outputs. It has no supply yet."""
    if device.kind == "drive":
        machine = Machine(plate(device.machine))
        made = DriveApplication(device.settings, None, demo_store(), machine, device.options)
        adapt(made, device)
        return made
    sizes = device.configuration
    counting = 0 if sizes.bytes_in else None
    return RemoteIO(inputs=sizes.bytes_in, outputs=sizes.bytes_out, counting=counting)


def adapt(application: Application, device: Device) -> None:
    """Bring to an application what has changed in its device."""
    if isinstance(application, DriveApplication):
        if application.settings != device.settings:
            application.settings = device.settings
        application.supervision.returns_s = device.fault_returns_s
        application.supervision.release_open = device.cause_present


def power_up(application: Application, device: Device) -> Settings:
    """Supply comes: the application starts. Its settings as they now count."""
    adapt(application, device)
    application.power_up()
    return application.settings if isinstance(application, DriveApplication) else power_cycle(device.settings)


def power_down(application: Application) -> None:
    """Supply goes."""
    if isinstance(application, DriveApplication):
        application.power_down()
