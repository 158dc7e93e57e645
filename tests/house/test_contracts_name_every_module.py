import ast
import sys
import tomllib

from tests.house.checkout import ROOT


def ladder() -> list[str]:
    contracts = tomllib.loads((ROOT / "pyproject.toml").read_text())["tool"]["importlinter"]["contracts"]
    return next(contract["layers"] for contract in contracts if contract["id"] == "ladder")


def named(layer: str) -> set[str]:
    return {part.strip().strip("()") for part in layer.split(":")}


def test_every_module_of_the_shop_is_roof_or_cellar() -> None:
    listed = set().union(*(named(layer) for layer in ladder()))
    present = {
        f"shop.{path.stem}"
        for path in (ROOT / "shop").iterdir()
        if (path.suffix == ".py" and path.stem != "__init__") or (path.is_dir() and (path / "__init__.py").exists())
    }
    assert present - listed == set(), "name it in the ladder contract of pyproject.toml: does it compose the apps, or found them?"


def test_set_up_code_imports_the_standard_library_only() -> None:
    foreign = {
        f"{path.name}: {module}"
        for path in (ROOT / "shop" / "setup").glob("*.py")
        for module in imported(path.read_text(encoding="utf-8"))
        if module.split(".")[0] not in sys.stdlib_module_names and not module.startswith("shop.setup")
    }
    assert foreign == set()


def imported(source: str) -> set[str]:
    nodes = list(ast.walk(ast.parse(source)))
    plain = {alias.name for node in nodes if isinstance(node, ast.Import) for alias in node.names}
    return plain | {node.module or "." for node in nodes if isinstance(node, ast.ImportFrom)}


def test_the_roof_package_runs_nothing_when_imported() -> None:
    assert (ROOT / "shop" / "__init__.py").read_text(encoding="utf-8").strip() == ""
