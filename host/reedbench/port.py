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
        raise _why(device, getattr(error, "errno", None), str(error)) from error


def _why(device: str, number: int | None, text: str) -> NoMeter:
    if number in (errno.EACCES, errno.EPERM) or "PermissionError" in text:
        # Windows reports a port in use as "PermissionError"; elsewhere it means what it says.
        return _busy(device) if sys.platform == "win32" else _forbidden(device)
    if number in (errno.EBUSY, errno.EAGAIN):
        return _busy(device)
    if number in (errno.ENOENT, errno.ENODEV, errno.ENXIO, errno.EIO) or "FileNotFoundError" in text:
        return NoMeter(
            f"there is no port {device}: plug the meter in with a data cable, or see `reedbench find`", kind="gone"
        )
    return NoMeter(f"{device} is not a serial port", kind="no port")


def _busy(device: str) -> NoMeter:
    return NoMeter(
        f"another program is using {device}: close it, or wait half a minute if the meter was just plugged "
        "in (a modem manager may be asking whether it is a modem)",
        kind="busy",
    )


def _forbidden(device: str) -> NoMeter:
    group, member = _group(device)
    if group == "root":
        return NoMeter(f"only root may open {device}: add the udev rule of docs/install.md", kind="forbidden")
    if member:
        return NoMeter(
            f"you are not allowed to open {device} yet: you are in the group {group} since you last logged in, so "
            "log out and in again",
            kind="forbidden",
        )
    return NoMeter(
        f"you are not allowed to open {device}: run `sudo usermod -aG {group} $USER`, log out and in again",
        kind="forbidden",
    )


def _group(device: str) -> tuple[str, bool]:
    """Name of the group that may open `device`, on most Linux systems dialout, and whether the user is in it."""
    try:
        import grp
        import pwd

        group = grp.getgrgid(os.stat(device).st_gid)
        return group.gr_name, pwd.getpwuid(os.getuid()).pw_name in group.gr_mem
    except (ImportError, OSError, KeyError):
        return "dialout", False
