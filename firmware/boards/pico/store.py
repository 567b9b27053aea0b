"""Where the meter's files are."""


def mount():
    """Path that the file system is mounted at: "", as the port's own _boot.py has mounted it at "/".

    _boot.py formats the flash on any error of mounting: an update must never resize the file system.
    """
    return ""
