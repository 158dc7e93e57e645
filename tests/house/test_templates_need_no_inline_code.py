"""The pages' security policy refuses inline scripts and styles, so a template that has one is broken in every browser."""

import re

import pytest

from tests.house.checkout import texts

INLINE = {
    "style attribute": re.compile(r"<[^>]*\sstyle\s*=", re.IGNORECASE),
    "style element": re.compile(r"<style\b", re.IGNORECASE),
    "script without src": re.compile(r"<script\b(?![^>]*\bsrc\s*=)", re.IGNORECASE),
    "event attribute": re.compile(r"<[^>]*\s(?:on[a-z]+|hx-on[:\w-]*)\s*=", re.IGNORECASE),
    "script address": re.compile(r"""(?:href|src|action)\s*=\s*["']\s*javascript:""", re.IGNORECASE),
}


@pytest.mark.parametrize("kind", INLINE)
def test_templates_have_no(kind: str) -> None:
    pages = ((name, text) for name, text in texts() if name.endswith(".html"))
    assert [f"{name}: {match.group()}" for name, text in pages for match in INLINE[kind].finditer(text)] == []
