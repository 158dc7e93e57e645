import ast
import runpy
import sys
from pathlib import Path

import pytest

MANAGE = Path(__file__).resolve().parents[2] / "manage.py"


def test_an_old_python_is_refused_in_words(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> None:
    main = runpy.run_path(str(MANAGE))["main"]
    monkeypatch.setattr(sys, "version_info", (3, 9, 2))
    assert main() == 1
    assert "This needs Python 3.11 or newer; " in capsys.readouterr().err


def test_an_old_python_can_read_it_far_enough_to_refuse() -> None:
    tree = ast.parse(MANAGE.read_text(encoding="utf-8"), feature_version=(3, 4))
    assert not [node for node in ast.walk(tree) if isinstance(node, ast.JoinedStr | ast.AnnAssign | ast.NamedExpr)]
    assert not [argument for argument in ast.walk(tree) if isinstance(argument, ast.arg) and argument.annotation]
