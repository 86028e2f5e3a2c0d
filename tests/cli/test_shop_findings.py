"""A shop's own findings with slips in them: each is told with file, line and column, status 2, and no traceback."""

from __future__ import annotations

from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from furnace_diag.cli.main import main

GOOD = """
- doubt: shop_own_doubt
  says: The shop has seen this before.
  when:
    - {sign: fuse_looks, is: blown}
  do: Look again.
  holds: [{sign: fuse_looks, value: blown}]
  near_miss: [{sign: fuse_looks, value: good}]
"""


def check(folder: Path, text: str) -> Result:
    folder.mkdir(exist_ok=True)
    (folder / "shop.yaml").write_text(text, encoding="utf-8")
    return CliRunner().invoke(main, ["rules", "check", str(folder)])


def test_a_good_one_is_taken(tmp_path: Path) -> None:
    result = check(tmp_path / "rules", GOOD)

    assert result.exit_code == 0, result.output


@pytest.mark.parametrize(
    ("wrong", "right", "told"),
    [
        ("fuse_looks, is: blown", "fuse_loks, is: blown", "Did you mean fuse_looks?"),  # a sign that is not there
        ("is: blown", "is: blwn", "Did you mean blown?"),  # a value it has not
        ("{sign: fuse_looks, is: blown}", "{point: across_fuse, is: dead_of_lin}", "Did you mean dead_of_line?"),  # no such band
        ("{sign: fuse_looks, is: blown}", "{point: flame_current, is: dead_of_line}", "read in uA"),  # volts of a current: no meter can meet it
        ("{sign: fuse_looks, is: blown}", "{point: flame_current, is: flame_plain, step: cooling_call}", "can never come true"),
        ("{sign: fuse_looks, is: blown}", "{finding: shop_own_doubt}", "loop"),
        ("doubt: shop_own_doubt", "doubt: sh\\u00f6p\\u202e", "shop.yaml:2"),  # odd characters in a name
        ("doubt: shop_own_doubt", "doubt: gas_leak", "already a finding"),
        ("value: good}", "value: blown}", "near miss"),
        ("holds: [{sign: fuse_looks, value: blown}]", "holds: [{sign: fuse_looks, value: good}]", "does not hold on its own example"),
        ("do: Look again.", "do: Look again.\n  unless: [shop_own_doubt]", "loop"),
        ("do: Look again.", "do: Look again.\n  evaluate: __import__('os')", "shop.yaml"),
    ],
)
def test_a_slip_is_told_with_its_place(tmp_path: Path, wrong: str, right: str, told: str) -> None:
    assert wrong in GOOD
    result = check(tmp_path / "rules", GOOD.replace(wrong, right.encode().decode("unicode_escape") if "\\u" in right else right, 1))

    assert result.exit_code == 2, result.output
    assert told in result.output
    assert "shop.yaml:" in result.output
    assert "Traceback" not in result.output
    assert "\u202e" not in result.output


def test_a_condition_has_no_lines_of_any_call(tmp_path: Path) -> None:
    result = check(tmp_path / "rules", "- condition: shop_own\n  says: seen\n  any_of: [{sign: fuse_looks, is: blown, any_call: true}]\n")

    assert result.exit_code == 2
    assert "says any_call, which only findings do" in " ".join(result.output.split())


def test_ten_thousand_rules_are_refused_in_a_plain_sentence(tmp_path: Path) -> None:
    many = "".join(GOOD.replace("shop_own_doubt", f"shop_doubt_{i}") for i in range(10_000))
    result = check(tmp_path / "rules", many)

    assert result.exit_code == 2
    assert "larger than" in result.output
    assert "shop.yaml:1:1" in result.output
    assert "Traceback" not in result.output


def test_more_rules_of_one_kind_than_the_engine_bears(tmp_path: Path) -> None:
    """durable_rules bears 255 rules with one pattern; from 256 on it crashes, so the rules stop before."""
    many = "".join(GOOD.replace("shop_own_doubt", f"shop_doubt_{i}") for i in range(300))
    result = check(tmp_path / "rules", many)

    assert result.exit_code == 2
    assert "too many for the engine" in result.output
