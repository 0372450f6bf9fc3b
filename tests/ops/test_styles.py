"""Every colour comes from the tokens, so that bright light, the dark and print are settled in one place."""

import re

from tests.ops.running import ROOT

CSS = ROOT / "static" / "css"
COLOUR = re.compile(r"#[0-9a-fA-F]{3,8}\b|\b(?:rgb|hsl|oklch)a?\(")
USED = re.compile(r"var\((--[a-z0-9-]+)")


def test_no_style_but_the_tokens_names_a_colour() -> None:
    named = {
        f"{sheet.name}: {found}"
        for sheet in CSS.glob("*.css")
        if sheet.name != "tokens.css"
        for found in COLOUR.findall(re.sub(r"/\*.*?\*/", "", sheet.read_text(), flags=re.DOTALL))
    }
    assert named == set()
    assert COLOUR.search((CSS / "tokens.css").read_text())


def test_every_token_that_is_used_is_set() -> None:
    tokens = set(re.findall(r"(--[a-z0-9-]+):", (CSS / "tokens.css").read_text()))
    used = {name for sheet in CSS.glob("*.css") for name in USED.findall(sheet.read_text())}
    assert used and used - tokens == set()
