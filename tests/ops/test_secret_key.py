"""The key an installation makes for itself."""

import stat
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

from config.secret_key import read_or_make_secret_key


def test_it_is_made_once_for_the_owner_alone_and_leaves_nothing_else(tmp_path: Path) -> None:
    path = tmp_path / "secret-key"
    key = read_or_make_secret_key(path)
    assert len(key) >= 50
    assert read_or_make_secret_key(path) == key
    assert stat.S_IMODE(path.stat().st_mode) == 0o600
    assert list(tmp_path.iterdir()) == [path]


def test_starts_at_the_same_moment_agree_on_one_key(tmp_path: Path) -> None:
    for turn in range(20):
        path = tmp_path / f"key-{turn}"
        with ThreadPoolExecutor(8) as pool:
            assert len(set(pool.map(read_or_make_secret_key, [path] * 8))) == 1
