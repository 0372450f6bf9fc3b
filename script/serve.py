"""script/server: makes the environment, brings the data up to date, runs web, worker and scheduler."""

import argparse
import os
import socket
import subprocess
import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parent.parent))

from script import environment, folder, network
from script.processes import PROCESSES, SIGN_INS
from script.supervise import Child, Health, Supervisor
from script.trouble import ROOT, Trouble, complain, say

EVERYWHERE, HERE = "0.0.0.0", "127.0.0.1"  # noqa: S104  what --lan asks for


def main() -> int:
    options = read_options()
    try:
        # Refuse before a minute is spent on installing.
        folder.open_data_folder(options.data)
        with folder.lock_data_folder(options.data):
            folder.listen(address_of(options), options.port).close()
        environment.run_inside(environment.RUN)
        with (
            folder.lock_data_folder(options.data),
            folder.listen(address_of(options), options.port) as listener,
        ):
            serve(options, listener)
    except Trouble as trouble:
        return complain(trouble)
    except OSError as error:  # a full disk, a file in the data folder that belongs to somebody else
        return complain(Trouble(f"Burnline cannot go on: {error}."))
    except KeyboardInterrupt:
        return 130
    return 0


def read_options() -> argparse.Namespace:
    options = argparse.ArgumentParser(
        prog="script/server",
        description="Run Burnline on this machine: web server, worker and scheduler. Stop it with Ctrl-C.",
    )
    options.add_argument(
        "--port", type=port, default=8000, help="port to serve on; 0 takes a free one (8000)"
    )
    options.add_argument(
        "--data",
        type=lambda text: Path(text).expanduser().absolute(),
        default=Path(os.environ.get("BURNLINE_DATA") or ROOT / "data").expanduser().absolute(),
        metavar="FOLDER",
        help="where everything is kept (the folder data beside this program, or BURNLINE_DATA)",
    )
    options.add_argument("--no-demo", action="store_true", help="start a new database without the demo team")
    options.add_argument(
        "--lan", action="store_true", help="let the local network in, over TLS with a certificate of its own"
    )
    options.add_argument(
        "--name",
        action="append",
        type=name,
        default=[],
        metavar="NAME",
        help="with --lan: another name this machine is known by (may be given more than once)",
    )
    given = options.parse_args()
    if given.name and not given.lan:
        options.error("--name goes with --lan: without it nobody on the network can connect")
    return given


def port(text: str) -> int:
    if not text.isdecimal() or int(text) > 65535:
        raise argparse.ArgumentTypeError(f"{text!r} is no port; give a whole number from 0 to 65535")
    return int(text)


def name(text: str) -> str:
    if not network.is_name(text.lower()):
        raise argparse.ArgumentTypeError(
            f"{text!r} is no name of this machine; give a host name such as bowl.example or an IPv4 address, "
            "without https:// and port"
        )
    return text.lower()


def address_of(options: argparse.Namespace) -> str:
    return EVERYWHERE if options.lan else HERE


def serve(options: argparse.Namespace, listener: socket.socket) -> None:
    number = int(listener.getsockname()[1])
    variables = {
        **os.environ,
        "BURNLINE_DATA": str(options.data),
        "BURNLINE_SUPERVISOR_PID": str(os.getpid()),
        "DJANGO_SETTINGS_MODULE": "config.settings",
        "PYTHONUNBUFFERED": "1",
    }
    web = [*PROCESSES["web"], "--bind", f"fd://{listener.fileno()}"]
    urls, trust, authority = [f"http://localhost:{number}/"], "", None
    given_hosts = [word for word in os.environ.get("BURNLINE_HOSTS", "").split(",") if word]
    variables["BURNLINE_HOSTS"] = ",".join([*given_hosts, "localhost", HERE, "[::1]"])
    if options.lan:
        # Needs a package, so it cannot be imported before there is an environment.
        from script.certificates import ensure_certificates, fingerprint

        names = [*options.name, *network.addresses(), *network.host_names()]
        files = ensure_certificates(options.data / "certificates", names)
        authority = files.authority
        web += ["--certfile", str(files.server), "--keyfile", str(files.key(files.server))]
        urls = [f"https://{name}:{number}/" for name in [*names, "localhost"]]
        variables["BURNLINE_TLS"] = "1"
        variables["BURNLINE_HOSTS"] += "," + ",".join(names)
        given_origins = os.environ.get("BURNLINE_ORIGINS", "").split(",")
        variables["BURNLINE_ORIGINS"] = ",".join([*given_origins, *(url.rstrip("/") for url in urls)])
        trust = trust_text(urls[0], fingerprint(authority))
    prepare(variables, demo=not options.no_demo)
    clear_broker(options.data / "broker")
    logs = options.data / "logs"
    logs.mkdir(mode=0o700, exist_ok=True)
    children = [
        Child("web", web, variables, logs / "web.log", pass_fds=(listener.fileno(),)),
        Child("worker", PROCESSES["worker"], variables, logs / "worker.log"),
        Child("scheduler", PROCESSES["scheduler"], variables, logs / "scheduler.log"),
    ]
    say("Starting ...")
    Supervisor(children, Health(number, authority)).run(ready_text(urls, options.data, trust))


def prepare(variables: dict[str, str], demo: bool) -> None:
    command = PROCESSES["prepare"] + (["--demo"] if demo else [])
    result = subprocess.run(command, cwd=ROOT, env=variables)
    if result.returncode != 0:
        raise Trouble("The data could not be brought up to date (the reason is above); nothing was started.")


def clear_broker(broker: Path) -> None:
    """Messages of an earlier run only wake a worker for rows that the first sweep sends again."""
    for message in broker.glob("*"):
        message.unlink()


def ready_text(urls: list[str], data: Path, trust: str) -> str:
    lines = ["", f"Burnline is ready: {urls[0]}"]
    lines += [f"              also: {url}" for url in urls[1:]]
    signins = data / SIGN_INS
    if signins.exists():
        lines += ["", signins.read_text(encoding="utf-8").rstrip()]
        if trust:
            lines.append(
                "Everyone on this network who reads this program can sign in so; --no-demo has no such."
            )
    if trust:
        lines += ["", trust]
    lines += ["", f"Everything is kept in {data}, logs in {data / 'logs'}.", "Stop with Ctrl-C."]
    return "\n".join(lines)


def trust_text(url: str, digest: str) -> str:
    return (
        f"Before a phone trusts this server, open {url}trust/ on it once and follow the steps there.\n"
        f"The certificate it installs must have this SHA-256 fingerprint:\n  {digest}"
    )


if __name__ == "__main__":
    sys.exit(main())
