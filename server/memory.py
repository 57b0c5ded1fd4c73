"""What is let go of goes back to the system."""

import contextlib
import ctypes
import sys

__all__ = ["give_back"]

# The C library's names for what it can be told (mallopt(3), malloc.h).
_TRIM_THRESHOLD, _MMAP_THRESHOLD = -1, -3
LARGE = 8 * 2**20  # octets; under the 9 MiB that a PIN is hashed in, over what a frame of a large rig takes
SPARE = 4 * 2**20  # kept at the top of the heap, so that no frame asks the system for its memory anew


def give_back() -> None:
    """Let the C library hand blocks of 8 MiB and more back as soon as they are free.

    Left alone, it takes the first 9 MiB in which a PIN was hashed as what is usual here, and from then on
    keeps as much for good, once for each thread that ever hashed one. Only where that library is glibc.
    """
    if sys.platform == "linux":
        with contextlib.suppress(OSError, AttributeError):  # a system with another C library
            libc = ctypes.CDLL(None)
            libc.mallopt(_MMAP_THRESHOLD, LARGE)
            libc.mallopt(_TRIM_THRESHOLD, SPARE)
