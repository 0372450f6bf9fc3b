"""An offset that only repeats its trade word was derived from it, and is from now on told apart from a read one."""

from typing import Any

from django.db import migrations

# As they stood when this was written; the engine's own table may change.
OFFSETS = {
    "flush": 2.5,
    "high flush": 2.0,
    "half pocket": 3.0,
    "light": 3.5,
    "very light": 4.5,
    "high": 1.5,
    "very high": 0.75,
    "nose": 0.0,
    "crossed over": -1.0,
    "Brooklyn": -2.5,
    "missed head pin": 6.5,
}


def forget_derived(apps: Any, _: Any) -> None:
    shots = apps.get_model("logbook", "Shot").objects
    for word, boards in OFFSETS.items():
        shots.filter(hit_word=word, offset_boards=boards).update(offset_boards=None)


def write_derived(apps: Any, _: Any) -> None:
    shots = apps.get_model("logbook", "Shot").objects
    for word, boards in OFFSETS.items():
        shots.filter(hit_word=word, offset_boards=None).update(offset_boards=boards)


class Migration(migrations.Migration):
    dependencies = [("logbook", "0001_initial")]

    operations = [migrations.RunPython(forget_derived, write_derived)]
