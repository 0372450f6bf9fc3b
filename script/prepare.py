"""Brings the data folder up to date before the processes start: tables, static files, the demo team."""

import argparse
import os
import sqlite3
import sys
from io import StringIO
from pathlib import Path

import django
from django.conf import settings
from django.contrib.auth import get_user_model
from django.core.exceptions import ImproperlyConfigured
from django.core.management import CommandError, call_command
from django.db import OperationalError, connection, transaction
from django.db.migrations.executor import MigrationExecutor
from django.db.migrations.recorder import MigrationRecorder
from django.utils import timezone

from config.lifeline import end_with_supervisor
from script.processes import SIGN_INS
from script.trouble import say


def main() -> None:
    options = argparse.ArgumentParser(prog="prepare", description=__doc__)
    options.add_argument("--demo", action="store_true", help="load the demo team into a new database")
    demo = options.parse_args().demo
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "config.settings")
    # The folder is free again when script/server is gone: nobody may still be changing its tables then.
    end_with_supervisor()
    try:
        django.setup()
        prepare(demo=demo)
    except KeyboardInterrupt:
        sys.exit(130)
    except ImproperlyConfigured as error:
        sys.exit(f"A setting is wrong: {error}")
    except OperationalError as error:
        sys.exit(f"The database does not answer: {error}")


def prepare(demo: bool) -> None:
    # Says that a demo team is owed. Written before the database exists and removed when the team is in it,
    # so that a first start that was cut short is completed, and a demo team deleted on purpose stays away.
    owed = settings.DATA_DIR / "demo-owed"
    if demo and not MigrationRecorder(connection).has_table():
        owed.touch()
    migrate()
    call_command("collectstatic", interactive=False, verbosity=0)
    if owed.exists():
        say("Loading the demo team (on the first start only) ...")
        try:
            with transaction.atomic():
                call_command("load_demo")
        except CommandError as refusal:  # it was in, and only the note of it was left
            say(str(refusal))
        owed.unlink()
    write_sign_ins(settings.DATA_DIR / SIGN_INS)
    if not get_user_model().objects.exists():
        say(
            "Nobody can sign in yet. Make the first team and its coach with: "
            f'BURNLINE_DATA="{settings.DATA_DIR}" {sys.executable} manage.py first_coach NAME "TEAM"'
        )


def migrate() -> None:
    executor = MigrationExecutor(connection)
    if not executor.migration_plan(executor.loader.graph.leaf_nodes()):
        return
    if MigrationRecorder(connection).has_table() and connection.vendor == "sqlite":
        say(f"Copied the database to {copy_database()} before changing its tables.")
    call_command("migrate", interactive=False, verbosity=0)


def write_sign_ins(file: Path) -> None:
    """Who can sign in to the demo, for script/server to print; no file where there is no demo."""
    text = StringIO()
    call_command("demo_signins", stdout=text)
    if text.getvalue():
        file.write_text(text.getvalue(), encoding="utf-8")
    else:
        file.unlink(missing_ok=True)


def copy_database() -> Path:
    folder = settings.DATA_DIR / "backups"
    folder.mkdir(mode=0o700, exist_ok=True)
    copy = folder / f"before-migration-{timezone.now():%Y%m%d-%H%M%S}.sqlite3"
    with sqlite3.connect(copy) as target:
        connection.ensure_connection()
        connection.connection.backup(target)
    target.close()
    copy.chmod(0o600)
    return copy


if __name__ == "__main__":
    main()
