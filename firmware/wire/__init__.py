"""What the meter and the host both have to know, word for word the same.

Plain Python that runs on MicroPython and CPython alike. Nothing here touches hardware, files or the screen.
"""
