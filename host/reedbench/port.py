"""Serial ports: which ones may be meters, and opening one or saying in plain words why not."""

import errno
import os
import sys
from dataclasses import dataclass

import serial
from serial.tools import list_ports

from reedbench.errors import NoMeter

# MicroPython's own USB identity on the meter's boards (ports/rp2/mpconfigport.h).
USB_VENDOR = 0x2E8A
USB_PRODUCT = 0x0005

if sys.platform == "win32":
    OPEN_ERRORS = (OSError, ValueError)
else:
    import termios

    OPEN_ERRORS = (OSError, ValueError, termios.error)  # pyserial lets the last one through on POSIX systems

READ_S = 0.05  # how long one read waits
WRITE_S = 2.0  # a port that takes no bytes for so long has nobody behind it


@dataclass(frozen=True)
class Candidate:
    """A port whose USB identity is that of a meter's board. Only a handshake tells whether it is a meter."""

    device: str
    usb_serial: str | None


def candidates() -> list[Candidate]:
    """The connected boards that may be meters, by port name."""
    return sorted(
        (
            Candidate(port.device, port.serial_number)
            for port in list_ports.comports()
            if (port.vid, port.pid) == (USB_VENDOR, USB_PRODUCT)
        ),
        key=lambda candidate: candidate.device,
    )


def open_port(device: str) -> serial.Serial:
    """Open `device` for this program alone; raises NoMeter with the reason and the cure."""
    try:
        return serial.Serial(device, timeout=READ_S, write_timeout=WRITE_S, exclusive=True)
    except OPEN_ERRORS as error:
        raise NoMeter(_why(device, getattr(error, "errno", None), str(error))) from error


def _why(device: str, number: int | None, text: str) -> str:
    if number in (errno.EACCES, errno.EPERM) or "PermissionError" in text:
        # Windows reports a port in use as "PermissionError"; elsewhere it means what it says.
        return _busy(device) if sys.platform == "win32" else _forbidden(device)
    if number in (errno.EBUSY, errno.EAGAIN):
        return _busy(device)
    if number in (errno.ENOENT, errno.ENODEV, errno.ENXIO, errno.EIO) or "FileNotFoundError" in text:
        return f"there is no port {device}: plug the meter in with a data cable, or see `reedbench find`"
    return f"{device} is not a serial port"


def _busy(device: str) -> str:
    return (
        f"another program is using {device}: close it, or wait half a minute if the meter was just plugged "
        "in (a modem manager may be asking whether it is a modem)"
    )


def _forbidden(device: str) -> str:
    return f"you are not allowed to open {device}: run `sudo usermod -aG {_group(device)} $USER`, log out and in again"


def _group(device: str) -> str:
    """Name of the group that may open `device`, on most Linux systems dialout."""
    try:
        import grp

        return grp.getgrgid(os.stat(device).st_gid).gr_name
    except (ImportError, OSError, KeyError):
        return "dialout"
