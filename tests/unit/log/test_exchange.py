"""Exports hold everything and are taken in as they went out; anything else is refused with its line."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from lugwright.errors import LogError
from lugwright.log.events import Entry
from lugwright.log.exchange import from_text, to_csv, to_json_lines
from lugwright.log.store import Log

NOTE = Entry("0" * 32, "2026-11-25T12:00:00.000000Z", "1", "note", "", {"text": "hello"})
LINE = to_json_lines([NOTE])

words = st.text(st.characters(exclude_categories=["Cs"]), max_size=30)
printable = st.text(st.characters(exclude_categories=["Cs", "Cc", "Zl", "Zp", "Zs", "Cf", "Co", "Cn"]), max_size=30)
plain = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats(allow_nan=False, allow_infinity=False) | words,
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(words, inner, max_size=3),
    max_leaves=6,
)
entries = st.lists(
    st.builds(
        Entry,
        st.uuids().map(lambda u: u.hex),
        st.integers(0, 999999).map(lambda n: f"2026-11-25T12:00:00.{n:06}Z"),
        printable,
        st.just("seen some day"),
        printable,
        st.dictionaries(words, plain, max_size=3),
    ),
    max_size=5,
    unique_by=lambda e: e.id,
)


@settings(deadline=None, derandomize=True, max_examples=150)
@given(entries)
def test_both_forms_come_back_as_they_went_out(some: list[Entry]) -> None:
    assert list(from_text(to_csv(some), "x")) == some
    if some:
        assert list(from_text(to_json_lines(some), "x")) == some


def test_an_export_taken_into_an_empty_log_is_the_same_log(tmp_path: Path) -> None:
    log = Log(tmp_path / "one.sqlite")
    log.append("1", [("note", "A\u00a0B".replace("\u00a0", " "), {"text": 'line\nbreak, "quoted", Ω\u2028'})] * 3)
    for number, text in enumerate((to_json_lines(log.entries()), to_csv(log.entries()))):
        other = Log(tmp_path / f"other{number}.sqlite")
        assert other.take_in(from_text(text, "x")) == 3
        assert other.entries() == log.entries()


@pytest.mark.parametrize(
    ("text", "what", "found"),
    [
        ("", "x.jsonl cannot be read as an export of a log", "nothing in it"),
        ("id,time\n", "x.jsonl cannot be read as an export of a log",
         "the first line is not id,time,copy,kind,subject,body"),
        ("id,time,copy,kind,subject,body\na,b\n", "x.jsonl cannot be read as an export of a log", "line 2 has 2 cells"),
        ("id,time,copy,kind,subject,body\na,b,c,d,e,f\n", "x.jsonl cannot be read as an export of a log",
         "line 2 cannot be read"),
        (LINE + "{", "x.jsonl cannot be read as an export of a log", "line 2 is no JSON object"),
        ('{"a": ' + "[" * 100000, "x.jsonl cannot be read as an export of a log", "line 1 is no JSON object"),
        (LINE + "{}\n", "this is no entry of a log: x.jsonl, line 2", "other keys than an entry has"),
        (LINE.replace("0" * 32, "xyz"), "this is no entry of a log: x.jsonl, line 1", "id = 'xyz'"),
        (LINE.replace("2026-11-25T", "yesterday "), "this is no entry of a log: x.jsonl, line 1",
         "time = 'yesterday 12:00:00.000000Z'"),
        (LINE.replace('"copy": "1"', '"copy": 1'), "this is no entry of a log: x.jsonl, line 1", "copy = '1'"),
        (LINE.replace('"subject": ""', '"subject": "\\u001b[2J"'), "this is no entry of a log: x.jsonl, line 1",
         "subject = '\\x1b[2J'"),
        (LINE.replace('{"text": "hello"}', "[]"), "this is no entry of a log: x.jsonl, line 1", "body is no table"),
        (LINE.replace('"hello"', "NaN"), "this is no entry of a log: x.jsonl, line 1",
         "body holds what is no number or no text"),
        (LINE.replace('"hello"', '"\\ud800"'), "this is no entry of a log: x.jsonl, line 1",
         "body holds what is no number or no text"),
        (LINE.replace('"hello"', "[" * 30 + "]" * 30), "this is no entry of a log: x.jsonl, line 1",
         "body is nested too deep"),
        (LINE.replace("hello", "h" * 200_000), "this is no entry of a log: x.jsonl, line 1", "body of 200012 bytes"),
        (LINE.replace('"hello"', "3"), f"this is no entry of a log: note {'0' * 32}",
         "text: input should be a valid string"),
        (LINE.replace('"note"', '"lead in"').replace('"text": "hello"', '"terminal": "A.1"'),
         f"this is no entry of a log: lead in {'0' * 32}", "a lead of a part, or a wire"),
        (LINE.replace('"note"', '"lead in"').replace(
            '"text": "hello"', '"terminal": "A.1", "wire": {"joint": "x", "terminals": ["A.2", "A.3"]}'),
         f"this is no entry of a log: lead in {'0' * 32}", "terminal is no end of the wire"),
    ],
)  # fmt: skip
def test_what_is_no_export_is_refused(text: str, what: str, found: str) -> None:
    with pytest.raises(LogError) as caught:
        from_text(text, "x.jsonl")
    assert (caught.value.what, caught.value.found) == (what, found)


def test_the_refusals_say_what_to_do() -> None:
    with pytest.raises(LogError) as caught:
        from_text("", "x.csv")
    assert caught.value.wanted == "JSON lines or CSV, as lugwright log --export writes them"
    assert caught.value.do == "export the log again, and import that file"
    with pytest.raises(LogError) as caught:
        from_text(json.dumps({}), "x.csv")
    assert caught.value.wanted == "id, time, copy, kind, subject, body"
    assert caught.value.do == "take it from an export of a log"
