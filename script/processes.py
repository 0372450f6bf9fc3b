"""The processes Burnline consists of, as command lines: one place for script/server and the containers.

`python -m script.processes worker` becomes that process.
"""

import os
import sys

PYTHON = sys.executable
# Where `prepare` leaves, in the data folder, who can sign in to the demo.
SIGN_INS = "demo-signins.txt"
PROCESSES = {
    "prepare": [PYTHON, "-m", "script.prepare"],
    "web": [PYTHON, "-m", "gunicorn", "--config", "config/gunicorn.py"],
    # Workers need not hear of each other; over files, what they would say to each other only piles up.
    "worker": [
        *(PYTHON, "-m", "celery", "-A", "config", "worker"),
        *("--queues", "burnline,burnline-sweep"),
        *("--without-gossip", "--without-mingle", "--without-heartbeat"),
    ],
    "scheduler": [PYTHON, "-m", "celery", "-A", "config", "beat"],
}


def main() -> None:
    if len(sys.argv) < 2 or sys.argv[1] not in PROCESSES:
        sys.exit(f"Name one of: {', '.join(PROCESSES)}.")
    command = PROCESSES[sys.argv[1]] + sys.argv[2:]
    os.execv(command[0], command)


if __name__ == "__main__":
    main()
