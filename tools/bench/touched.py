"""How much of a file the system has read from disk since it was last dropped from its memory."""

import ctypes
import mmap
import os

PROT_NONE, MAP_SHARED = 0, 1


def drop(files):
    """Takes the files out of the system's memory, as far as nobody uses them."""
    for file in files:
        with open(file, "rb") as opened:
            os.fsync(opened.fileno())
            os.posix_fadvise(opened.fileno(), 0, 0, os.POSIX_FADV_DONTNEED)


def in_memory(files):
    """Bytes of the files that are in the system's memory, in whole pages. The system reads somewhat ahead."""
    libc = ctypes.CDLL(None, use_errno=True)
    libc.mmap.restype = ctypes.c_void_p
    libc.mmap.argtypes = [ctypes.c_void_p, ctypes.c_size_t, ctypes.c_int, ctypes.c_int, ctypes.c_int, ctypes.c_long]
    libc.mincore.argtypes = [ctypes.c_void_p, ctypes.c_size_t, ctypes.c_char_p]
    libc.munmap.argtypes = [ctypes.c_void_p, ctypes.c_size_t]
    total = 0
    for file in files:
        with open(file, "rb") as opened:
            size = os.fstat(opened.fileno()).st_size
            at = libc.mmap(None, size, PROT_NONE, MAP_SHARED, opened.fileno(), 0)
            pages = ctypes.create_string_buffer((size + mmap.PAGESIZE - 1) // mmap.PAGESIZE)
            failed = libc.mincore(at, size, pages)
            libc.munmap(at, size)
            if failed:
                raise OSError(ctypes.get_errno(), f"{file}: the system does not tell what is in its memory")
            total += sum(page & 1 for page in pages.raw) * mmap.PAGESIZE
    return total
