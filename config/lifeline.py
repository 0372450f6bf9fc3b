"""Ends a process when the one that started it is gone, however it went."""

import ctypes
import os
import signal
import sys
import threading
import time

PARENT_VARIABLE = "BURNLINE_SUPERVISOR_PID"
PR_SET_PDEATHSIG = 1  # linux/prctl.h


def end_with_parent(parent: int, sign: signal.Signals = signal.SIGTERM) -> None:
    """Have `sign` sent to this process as soon as process `parent`, its parent, ends.

    Linux does it by itself; elsewhere a thread looks once a second.
    """
    if sys.platform == "linux":
        ctypes.CDLL(None).prctl(PR_SET_PDEATHSIG, sign)
    else:
        watch_parent(parent, sign)
    # The parent may have ended before anyone was looking.
    if os.getppid() != parent:
        os.kill(os.getpid(), sign)


def end_with_supervisor() -> None:
    """The same for a process that script/server started; nothing for one started otherwise."""
    parent = os.environ.get(PARENT_VARIABLE, "")
    if parent:
        end_with_parent(int(parent))


def watch_parent(parent: int, sign: signal.Signals) -> None:
    """The same by a thread that looks once a second.

    Needed also where a thread of the parent starts processes: Linux counts the end of that thread as the end
    of the parent.
    """
    threading.Thread(target=_watch, args=(parent, sign), daemon=True).start()


def _watch(parent: int, sign: signal.Signals) -> None:
    while os.getppid() == parent:
        time.sleep(1)
    os.kill(os.getpid(), sign)
