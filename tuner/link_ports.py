"""Serial ports: which there are, opening one, and in words why one cannot be opened.

Linux is tried (a real pty); the names and errors of Windows and macOS are handled from their documentation, untried.
"""

import errno
import os
import sys
import time
from dataclasses import dataclass

from tuner.errors import LinkError

# USB vendor numbers (from memory): the chips' own USB port, then the usual USB-to-serial bridges. Only ports with
# one of these are spoken to unasked: a line of ours could mean something to other machines.
LIKELY = (0x2E8A, 0x303A, 0xF055, 0x10C4, 0x1A86, 0x0403)
LOADER = (0x2E8A, 0x0003)  # an RP2040 waiting for its MicroPython; it shows as a drive, seldom as a port
INSTEAD = "LOAMSTAT_PORTS"  # environment: ports to look at in place of those that the system lists
READ_S = 1.0  # longest single read
SILENT_S = 8.0  # of a board at work: its watchdog would have bitten
STEP_S = 25.0  # of one step, however much the board says meanwhile
WRITE_S = 5.0  # a board that takes nothing for so long has stopped reading
BUSY_S = 2.0  # a program that looks at each new port, or one that is just ending, lets go in less
AGAIN_S = 0.1
ODD = "{}: the port could not be opened.\nTry again, or plug the board in anew."


@dataclass(frozen=True)
class Port:
    """device: "/dev/ttyACM0", "COM3", ... likely: worth speaking to. serial: the USB serial number, "" if unknown."""

    device: str
    what: str
    likely: bool
    serial: str = ""


def found():
    """Return the list of Port of this machine, likely ones first."""
    named = os.environ.get(INSTEAD)
    if named is not None:
        return [Port(name, f"named by {INSTEAD}", True) for name in named.split(os.pathsep) if name]
    from serial.tools import list_ports

    ports = []
    for one in list_ports.comports():
        if one.vid is None:
            continue  # a motherboard's own port: nothing of ours
        what = f"USB {one.vid:04x}:{one.pid or 0:04x} {one.product or ''}".rstrip()
        ports.append(Port(one.device, what, one.vid in LIKELY, one.serial_number or ""))
    return sorted(ports, key=lambda port: (not port.likely, port.device))


def serial_of(device):
    """Return the USB serial number behind a port's name, "" when there is none."""
    return next((port.serial for port in found() if port.device == device), "")


def device_of(device, serial):
    """Return the name that the port has now: after a restart the system may have given the board another."""
    same = [port.device for port in found() if serial and port.serial == serial]
    return device if device in same or not same else same[0]


def opened(device):
    """Return mpremote's SerialTransport on a port, nothing sent yet. Raises LinkError saying why not."""
    import serial
    from mpremote.transport import TransportError
    from mpremote.transport_serial import SerialTransport

    class Bounded(SerialTransport):
        """mpremote itself would wait for ever for a board that was reset and talks of other things since."""

        def read_until(self, min_num_bytes, ending, timeout=SILENT_S, data_consumer=None, timeout_overall=None):
            silent_s = SILENT_S if timeout is None else min(timeout, SILENT_S)
            last, end, data = time.monotonic(), time.monotonic() + (timeout_overall or STEP_S), b""
            while not data.endswith(ending) and time.monotonic() < min(end, last + silent_s):
                new = self.serial.read(1)
                if new and data_consumer:
                    data_consumer(new)
                data = new or data if data_consumer else data + new
                last = time.monotonic() if new else last
            return data

    end = time.monotonic() + BUSY_S
    while True:
        try:
            transport = Bounded(device, timeout=READ_S)
            break
        except (TransportError, OSError, ValueError):
            fault = _fault(device)
            if time.monotonic() > end or not (fault is None or _busy(fault)):
                raise LinkError(refusal(device, fault) if fault else ODD.format(device)) from None
        time.sleep(AGAIN_S)
    assert isinstance(transport.serial, serial.Serial)  # it has another kind only while it mounts a folder
    transport.serial.write_timeout = WRITE_S
    return transport


def _fault(device):
    """Return what pyserial raises for a port, None when it opens: mpremote does not hand the reason on."""
    import serial

    try:
        serial.Serial(device, 115200, exclusive=True).close()
    except (OSError, ValueError) as fault:
        return fault
    return None


def _busy(fault):
    """Whether another program has the port open."""
    number = getattr(fault, "errno", None)
    return number in (errno.EBUSY, errno.EAGAIN) or (sys.platform == "win32" and "PermissionError" in str(fault))


def refusal(device, fault):
    """Return the message for what opening a port raised."""
    number, text = getattr(fault, "errno", None), str(fault)
    if number in (errno.ENOENT, errno.ENODEV, errno.ENXIO) or "FileNotFoundError" in text:
        return f"{device}: there is no such port.\nPlug the board in and look with: loamstat boards"
    if _busy(fault):
        return (
            f"{device}: another program has this port open.\n"
            "Close the terminal, editor or other loamstat that uses it, and try again."
        )
    if number in (errno.EACCES, errno.EPERM) or "PermissionError" in text:
        return f"{device}: you may not open this port.\n" + _permission(device)
    if number in (errno.ENOTTY, errno.EINVAL, errno.EISDIR) or isinstance(fault, ValueError) or "(25," in text:
        return f"{device}: this is no serial port.\nLook with: loamstat boards"
    return f"{device}: the port cannot be opened ({text}).\nPlug the board in anew, or try another lead or socket."


def _permission(device):
    """Return how to be allowed to open a port, naming the group where it has one."""
    try:
        import grp
        import pwd

        held = os.stat(device)
        group = grp.getgrgid(held.st_gid).gr_name
        name = pwd.getpwuid(os.geteuid()).pw_name
    except (ImportError, OSError, KeyError):
        return "Ask whoever runs this computer for the right to use serial ports."
    if not held.st_mode & 0o060:
        return f'Only its owner may, and its group "{group}" may not: ask whoever runs this computer.'
    return f'It belongs to the group "{group}". Join it: sudo usermod -a -G {group} {name}\nThen log out and in again.'
