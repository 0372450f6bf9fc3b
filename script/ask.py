"""Health checks of the containers: `python -m script.ask worker` ends with 0 while that part is alive."""

import os
import sys
import urllib.request

SILENT_SECONDS = 60
ADDRESS = "http://127.0.0.1:8000/healthz"


def web_answers() -> bool:
    # The site answers to its own names only, and 127.0.0.1 need not be one of them.
    host = os.environ.get("BURNLINE_HOSTS", "localhost").split(",")[0].strip(" .*") or "localhost"
    request = urllib.request.Request(ADDRESS, headers={"Host": host})
    with urllib.request.urlopen(request, timeout=5) as answer:  # noqa: S310  the address is above
        return bool(answer.status == 200)


def heart_beats(name: str) -> bool:
    """Whether worker or scheduler wrote down lately that it lives."""
    import django

    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "config.settings")
    django.setup()
    from config.health import time_since_beat

    since = time_since_beat(name)
    return since is not None and since.total_seconds() < SILENT_SECONDS


def main() -> int:
    name = sys.argv[1] if len(sys.argv) > 1 else ""
    if name not in ("web", "worker", "scheduler"):
        print("Name one of: web, worker, scheduler.", file=sys.stderr)
        return 2
    try:
        alive = web_answers() if name == "web" else heart_beats(name)
    except Exception as error:
        print(error, file=sys.stderr)
        return 1
    return 0 if alive else 1


if __name__ == "__main__":
    sys.exit(main())
