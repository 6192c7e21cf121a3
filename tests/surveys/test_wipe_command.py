"""``manage.py wipe``: options, JSON keys, and one clear sentence on bad input."""

from __future__ import annotations

import ast
import json
from io import StringIO
from pathlib import Path
from typing import Any

import pytest
from django.core.management import CommandError, call_command

from surveys.management.commands.wipe import KEYS
from surveys.sentences import SENTENCES

CLEAN = [
    "--gross-counts", "31", "--gross-seconds", "60",
    "--background-counts", "30", "--background-seconds", "60",
]  # fmt: skip
EFFICIENCY = ["--efficiency", "0.12", "--efficiency-uncertainty-relative", "0.06"]


def run(*arguments: str) -> str:
    out = StringIO()
    call_command("wipe", *arguments, stdout=out)
    return out.getvalue()


def answer(*arguments: str) -> dict[str, Any]:
    return dict(json.loads(run(*arguments, "--json")))


def test_answers_with_every_key() -> None:
    data = answer(*CLEAN, *EFFICIENCY, "--nuclide", "Cs-137")
    assert tuple(data) == KEYS
    assert (data["outcome"], data["finding"], data["nuclide"]) == ("pass", "pass", "Cs-137")
    # P-DEC-01.
    assert data["upper_bound_bq"] == pytest.approx(2.133215, rel=1e-6)
    assert data["limit_bq"] == 185 and data["comparator"] == "reaches"
    assert "default" in data["limit_source"] and "not detected" in data["reason"]


def test_prints_a_table_and_the_grounds() -> None:
    text = run(*CLEAN, "--efficiency", "0.12")
    assert "Detection limit" in text and "Passes: not detected" in text
    # The uncertainty that nobody stated is printed.
    assert "0.3 (relative) is used" in text


def test_pools_several_gross_counts() -> None:
    data = answer(
        "--gross-counts", "1400", "1000", "--gross-seconds", "60", "60",
        "--background-counts", "30", "--background-seconds", "60", *EFFICIENCY,
    )  # fmt: skip
    assert (data["gross_counts"], data["gross_seconds"]) == (2400, 120)


def test_is_not_evaluable_without_an_efficiency_and_still_accuses() -> None:
    data = answer(*CLEAN)
    assert data["outcome"] == "not_evaluable" and data["activity_bq"] is None
    hot = ["--gross-counts", "30000", *CLEAN[2:]]
    assert answer(*hot)["act_as_on_a_leak"] is True
    assert "Act as on a leak" in answer(*hot)["reason"]


def test_takes_the_limit_and_its_comparator() -> None:
    limit = ["--limit", "5 nCi", "--limit-comparator", "exceeds"]
    data = answer(*CLEAN, *EFFICIENCY, *limit)
    assert data["limit_bq"] == 185 and data["comparator"] == "exceeds"
    assert data["limit_source"] == "given with the command"


def test_takes_the_efficiency_basis() -> None:
    basis = ["--efficiency", "0.62", "--efficiency-basis", "per_2pi_emission"]
    gross = ["--gross-counts", "4680", *CLEAN[2:]]
    assert answer(*gross, *basis)["finding"] == "not_evaluable_source_efficiency"
    data = answer(*gross, *basis, "--source-efficiency", "0.5")
    assert data["activity_bq"] == pytest.approx(250) and data["outcome"] == "fail"


def test_never_evaluates_krypton() -> None:
    assert answer(*CLEAN, *EFFICIENCY, "--nuclide", "Kr-85")["finding"] == "not_evaluable_gas"


def test_lets_strontium_count_twice() -> None:
    data = answer(*CLEAN, "--efficiency", "1.4", "--nuclide", "90Sr")
    assert data["nuclide"] == "Sr-90" and data["outcome"] == "pass"


def test_judges_a_laboratory_result() -> None:
    # P-CERT-01 and P-CERT-05.
    stated = ["--reported", "170 Bq", "--expanded-uncertainty", "30 Bq", "--coverage-factor", "2"]
    assert answer(*stated)["finding"] == "inconclusive_between"
    assert answer("--less-than", "185 Bq")["outcome"] == "pass"
    assert answer("--reported", "160 Bq")["outcome"] != "pass"
    assert answer("--reported", "-2 Bq", "--expanded-uncertainty", "3 Bq")["outcome"] == "pass"


@pytest.mark.parametrize(
    "arguments",
    [
        [],
        CLEAN[:4],
        [*CLEAN, "--less-than", "5 Bq"],
        [*CLEAN, "--coverage-factor", "2"],
        ["--less-than", "5 Bq", "--efficiency", "0.1"],
        [*CLEAN, "--efficiency", "nan"],
        [*CLEAN, "--efficiency", "0"],
        [*CLEAN, "--efficiency", "-0.1"],
        [*CLEAN, "--efficiency", "1.2"],
        [*CLEAN, "--efficiency", "twelve"],
        [*CLEAN, *EFFICIENCY, "--nuclide", "Zz-999"],
        [*CLEAN, *EFFICIENCY, "--limit", "185"],
        [*CLEAN, *EFFICIENCY, "--limit-comparator", "touches"],
        [*CLEAN, *EFFICIENCY, "--efficiency-basis", "per_gram"],
        ["--gross-counts", "31", "30", *CLEAN[2:]],
        ["--gross-counts", "1.5", *CLEAN[2:]],
        ["--gross-counts", "inf", *CLEAN[2:]],
        ["--gross-counts", "-3", *CLEAN[2:]],
        [*CLEAN[:2], "--gross-seconds", "0", *CLEAN[4:]],
        [*CLEAN[:2], "--gross-seconds", "nan", *CLEAN[4:]],
    ],
)
def test_refuses_bad_input_with_one_sentence(arguments: list[str]) -> None:
    with pytest.raises(CommandError) as error:
        run(*arguments)
    text = str(error.value)
    assert text.endswith(".") and "\n" not in text and "%(" not in text
    if "--nuclide" not in arguments and "--limit" not in arguments:
        assert "no sentence" not in text


def emitted_codes() -> set[str]:
    """Every code that the arithmetic and this command can emit, read from their text."""
    root = Path(__file__).parents[2] / "surveys"
    folders = (root / "calc" / "counting", root / "calc" / "leak")
    files = [file for folder in folders for file in folder.glob("*.py")]
    files.append(root / "management" / "commands" / "wipe.py")
    codes = set()
    for file in files:
        for node in ast.walk(ast.parse(file.read_text(encoding="utf-8"))):
            named = isinstance(node, ast.Call) and isinstance(node.func, ast.Name)
            if named and node.func.id in ("DomainError", "Step") and node.args:
                first = node.args[0]
                if isinstance(first, ast.Constant):
                    codes.add(str(first.value))
            if isinstance(node, ast.Constant) and isinstance(node.value, str):
                starts = ("fail_", "inconclusive_", "pass_", "reported_", "wipe_")
                if node.value.startswith(starts) and node.value.replace("_", "a").isalpha():
                    codes.add(node.value)
    return codes


def test_has_a_sentence_for_every_code() -> None:
    built = {f"batch_{s}" for s in ("agrees", "reads_high", "reads_low", "not_tested")}
    gaps = ("counts", "background", "times", "efficiency", "source_efficiency", "window", "limit")
    built |= {f"not_evaluable_{gap}" for gap in (*gaps, "nuclide", "gas")}
    built |= {f"missing_{gap}" for gap in (*gaps, "nuclide")}
    built |= {f"wipe_efficiency_{b}" for b in ("per_decay", "per_2pi_emission", "surface_response")}
    codes = emitted_codes() | built
    assert len(codes) > 60
    assert codes - {"wipe_efficiency_"} - set(SENTENCES) == set()
