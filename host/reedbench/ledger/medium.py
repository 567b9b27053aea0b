"""Does a file lie on another computer? SQLite's WAL mode needs memory that all who use the file share."""

import os
import sys
from pathlib import Path

# Kinds of file systems as Linux names them in /proc/self/mountinfo (proc(5)).
NETWORK = frozenset(("nfs", "nfs4", "cifs", "smb3", "smbfs", "ncpfs", "afs", "ceph", "9p", "fuse.sshfs", "fuse.rclone"))
MOUNTS = Path("/proc/self/mountinfo")
_DRIVE_REMOTE = 4  # GetDriveTypeW of the Windows API


def on_network(path: Path) -> bool:
    """Whether the folder of `path` is another computer's; False where the system does not tell."""
    folder = path.absolute().parent
    if sys.platform == "win32":
        import ctypes

        drive = folder.resolve().drive
        return drive.startswith("\\\\") or ctypes.windll.kernel32.GetDriveTypeW(drive + "\\") == _DRIVE_REMOTE
    try:
        mounts = MOUNTS.read_text(encoding="utf-8", errors="replace")
    except OSError:
        return False
    return _kind(os.path.realpath(folder), mounts) in NETWORK


def _kind(folder: str, mounts: str) -> str:
    """Kind of the file system that `folder` lies in: of the longest mount point on its way, the last one mounted."""
    best, kind = "", ""
    for line in mounts.splitlines():
        before, _, after = line.partition(" - ")
        words = before.split(" ")
        if len(words) < 5 or not after:
            continue
        point = words[4].replace("\\040", " ")
        if len(point) >= len(best) and (folder + "/").startswith(point.rstrip("/") + "/"):
            best, kind = point, after.split(" ")[0]
    return kind
