"""The linter: each code on a small made-up grammar that has the fault, and on one that has not."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from fieldvoice.grammar import grammar_folder
from fieldvoice.grammar.frames import Frame, Slot, known_frames
from fieldvoice.grammar.lint import Known, findings, main

if TYPE_CHECKING:
    from pathlib import Path

SAP = Slot(lambda value: value in ("clear", "cloudy"), ("clear", "cloudy"))
FRAMES = {
    ("act", "gather"): Frame(
        "act", "gather",
        {"tree": Slot(), "volume_gal": Slot(unit="gallons"), "sap": SAP, "at": Slot()},
        needs=(("tree",),),
    ),
    ("act", "store"): Frame("act", "store", {"volume_gal": Slot(unit="gallons")}),
    ("ask", "sap_age"): Frame("ask", "sap_age", {}),
}  # fmt: skip
WORDS = frozenset(
    "tree sap got poured clear cloudy now today one two gallons how old early".split()
)

#: What the trials share: a note, a question, amounts that tell their units.
BASE = """#JSGF V1.0;
grammar fieldvoice;
/** @gives gallons */
public <volume> = ( one {+1} | two {+2} ) gallons;
/** @gives inches */
public <length> = ( one {+1} | two {+2} ) old;
public <tree> = tree ( one {+1} | two {+2} ) {tree};
"""
CLEAN = """
/** What was got: got tree one two gallons. */
public <gather> = ( got <tree> <volume> {volume_gal} [<state>] ) {act=gather};
<state> = clear {sap=clear} | /0.5/ cloudy {sap=cloudy};
public <sap_age> = how old {ask=sap_age};
public <utterance> = ( <gather> | <sap_age> ) {meaning+};
"""


def lint(folder: Path, body: str, base: str = BASE) -> list[str]:
    (folder / "fieldvoice.jsgf").write_text(base + body, encoding="utf-8")
    return [str(one) for one in findings(folder, Known(FRAMES, WORDS))]


def said(gather: str, more: str = "") -> str:
    """Return a grammar whose notes are ``gather``."""
    return f"{more}public <gather> = {gather};\npublic <utterance> = <gather> {{meaning+}};\n"


def test_a_clean_grammar_has_no_findings(tmp_path: Path) -> None:
    assert lint(tmp_path, CLEAN) == []


GOT = "( got <tree> <volume> {volume_gal} ) {act=gather}"


@pytest.mark.parametrize(
    ("body", "says"),
    [
        (said("got | ;"), ":8:25: error[syntax]: found ';' after '|'; expected a word, '<rule>', "),
        (said("( got"), "error[unclosed]: '(' of 8:19 is never closed; expected ')' or '|' before"),
        (said("got <tre>"), "error[undefined-rule]: <tre> is not defined in fieldvoice.jsgf or "
         "imported; did you mean <tree>?"),
        (said("got <tree> {act=gathr}"), "error[unknown-frame]: no act 'gathr'\n"),
        (said("( got <tree> <volume> {volum_gal} ) {act=gather}"),
         "error[unknown-slot]: act 'gather' has no slot 'volum_gal'\n"),
        (said("( got <tree> clear {sap=cloudly} ) {act=gather}"),
         "error[wrong-value]: 'cloudly' is no sap of act 'gather'\n"),
        (said("( got <tree> <length> {volume_gal} ) {act=gather}"),
         "error[wrong-type]: {volume_gal} is put on words that give inches, and takes gallons\n"),
        (said(f"{GOT}\n | poured <volume>"), "error[no-frame]: this alternative of public <gather> "
         "sets no {act=…}\n"),
        (said(f"{GOT} {{act=store}}"), "error[two-frames]: this alternative of public <gather> "
         "sets {act=gather} and {act=store}\n"),
        (said(f"{GOT}\n | got {{act=gather}}"), "warning[missing-need]: 1 of 2 alternatives of "
         "<gather> can end without tree: it will be asked for\n"),
        (said("( got <tree> <volume> {volume_gal} <volume> {volume_gal} ) {act=gather}"),
         "error[two-values]: {volume_gal} is set twice: <gather> 8:41 and <gather> 8:63; expected "
         "one, or a rule that joins them\n"),
        (said("( got <tree> [clear {sap=clear}] [cloudy {sap=cloudy}] ) {act=gather}"),
         "warning[two-values]: {sap} can be set twice: <gather> 8:39 and <gather> 8:60"),
        (said(GOT, "<a> = got <b>;\n<b> = now | <a>;\n"),
         "error[recursion]: a rule may not contain itself: <fieldvoice.a> → <fieldvoice.b> → <"),
        (said(GOT, "public <a> = [got];\n"), "error[silent]: <fieldvoice.a> can be said with no "),
        (said(GOT, "public <a> = got | ( now | today ) | /0.5/ now;\n"),
         "error[double]: 'now' stands twice in <a> (8:22, 8:44)\n"),
        (said(GOT, "<a> = got;\n"), "error[unreachable]: <a> is never used\n"),
        (said(f"{GOT}\n | ( got <tree> <volume> ) {{act=gather}}"),
         'warning[ambiguous]: "got tree'),
        (said(GOT, "public <a> = got | /0.7/ now;\n"), "error[weight]: weight 0.7 is no tier"),
        (said(GOT, "public <a> = got | /0.001/ now;\n"),
         "warning[weight]: weight 0.001 is below 0.02: make it a saying\n"),
        (said(GOT, "public <a> = got" + " now" * 25 + ";\n"),
         "8:101: error[long-line]: 117 columns; at most 100 (run make format)\n"),
        (said(GOT, "public <a> = saphouse;\n"),
         'error[not-heard]: "saphouse" has no pronunciation; add it to pronunciations.dict\n'),
        (said(GOT, "/** Sap got: poured tree one. */\n"),
         "error[no-example]: the example of act 'gather', 'poured tree one', reads as nothing the"),
    ],
)  # fmt: skip
def test_a_fault_is_found_and_only_that(tmp_path: Path, body: str, says: str) -> None:
    found = lint(tmp_path, body)
    assert [one for one in found if says in one], found
    code = says.partition("[")[2].partition("]")[0] if "[" in says else ""
    assert {one.partition("[")[2].partition("]")[0] for one in found} == {code}


@pytest.mark.parametrize(
    "body",
    [
        said(GOT),
        said(f"{GOT}\n | {GOT.replace('<volume> {volume_gal}', 'clear {sap=clear}')}"),
        said("( got <tree> [clear {sap=clear}] [sap clear {sap=clear}] ) {act=gather}"),
        said("( got <tree> ( one {+1} | two {+2} ) gallons ) {act=gather}"),
        said(GOT, "public <a> = got | ( now | today ) | /0.5/ now sap;\n"),
        said(GOT, "public <a> = [got] now;\n"),
        said(GOT, "public <a> = got | /0.02/ now;\n"),
        said(GOT, "public <a> = got" + " now" * 20 + ";\n"),
        said(GOT, "/** Sap got: got tree one, two gallons. */\n"),
    ],
)
def test_what_is_right_is_not_found_fault_with(tmp_path: Path, body: str) -> None:
    assert lint(tmp_path, body) == []


def test_the_place_the_line_a_caret_and_what_was_meant(tmp_path: Path) -> None:
    body = said("( got <tree> <volume> {volum_gal} ) {act=gather}")
    (found,) = lint(tmp_path, body)
    assert found.splitlines() == [
        "fieldvoice.jsgf:8:42: error[unknown-slot]: act 'gather' has no slot 'volum_gal'",
        " 8 | public <gather> = ( got <tree> <volume> {volum_gal} ) {act=gather};",
        "   |                                          ^^^^^^^^^",
        "   = expected one of: at, sap, tree, volume_gal (did you mean 'volume_gal'?)",
    ]


def test_a_part_that_a_tag_does_not_know(tmp_path: Path) -> None:
    (found,) = lint(tmp_path, said("( got <tree> ( now {hur=1} ) {at} ) {act=gather}"))
    assert "error[unknown-slot]: {at} has no part 'hur'" in found


def test_a_double_rule_and_an_import_of_nothing(tmp_path: Path) -> None:
    assert "error[double]: rule <a> is defined twice" in lint(tmp_path, "<a> = b;\n<a> = c;\n")[0]
    header = "#JSGF V1.0;\ngrammar fieldvoice;\nimport <volumes.*>;\n"
    assert "error[undefined-rule]: <volumes.*>" in lint(tmp_path, "<a> = b;\n", header)[0]


def test_a_rule_that_a_slot_is_declared_with_need_not_be_used_by_another(tmp_path: Path) -> None:
    (tmp_path / "one.jsgf").write_text("#JSGF V1.0;\ngrammar one;\n<amount> = two;\n")
    unused = findings(tmp_path, Known({}))
    assert [one.code for one in unused] == ["unreachable"]
    assert findings(tmp_path, Known({}, rules=frozenset({"one.amount"}))) == []


def test_the_frames_come_from_the_meanings() -> None:
    frames = known_frames()
    gather, age = frames["act", "gather"], frames["ask", "sap_age"]
    assert {"tree", "trees", "volume_gal", "sap", "at"} <= gather.slots.keys()
    assert gather.slots["volume_gal"].unit == "gallons"
    assert gather.slots["sap"].values[:2] == ("clear", "hazy")
    assert gather.slots["sap"].accepts("cloudy")
    assert not gather.slots["sap"].accepts("cloudly")
    assert not gather.slots["fill"].accepts(1.5)
    assert set(age.slots) == {"vessel"}
    assert ("do", "undo") in frames


def test_the_command_ends_with_one_where_there_is_an_error(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "pronunciations.dict").write_text("sap S AE P\n", encoding="utf-8")
    path = tmp_path / "one.jsgf"
    path.write_text("#JSGF V1.0;\ngrammar one;\npublic <a> = sap | /0.001/ tree;\n")
    assert main([str(tmp_path)]) == 0
    assert capsys.readouterr().out.startswith("0 errors, 1 warnings (shown with --warnings)")
    assert main(["--warnings", str(tmp_path)]) == 0
    assert "one.jsgf:3:20: warning[weight]" in capsys.readouterr().out
    path.write_text("#JSGF V1.0;\ngrammar one;\npublic <a> = sap | <b>;\n")
    assert main([str(tmp_path)]) == 1
    assert "one.jsgf:3:20: error[undefined-rule]" in capsys.readouterr().out
    path.unlink()
    assert main([str(tmp_path)]) == 1
    assert "no grammar files" in capsys.readouterr().err


def test_the_grammars_have_no_errors(capsys: pytest.CaptureFixture[str]) -> None:
    assert main([str(grammar_folder())]) == 0, capsys.readouterr().out
