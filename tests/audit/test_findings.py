"""What is reported, and what the allow-list can do."""

from __future__ import annotations

from types import SimpleNamespace

from eaveline.audit.findings import (
    RULES,
    AuditResult,
    Finding,
    Hit,
    audit_problems,
    digest_of,
    sort_out,
)

PLACE = Finding("a.html", "grid-reference", "text, line 3", 2, "ab" * 32)
ADDRESS = Finding("a.html", "address", "text, line 4")


def test_a_private_value_has_no_digest() -> None:
    assert digest_of(Hit("address", "albert rd 17")) is None


def test_the_allow_list_lets_pass_what_it_names() -> None:
    allow = [SimpleNamespace(sha256="ab" * 32, reason="a car park")]
    result = sort_out([ADDRESS, PLACE], allow, files_read=1)
    assert result.findings == (ADDRESS,)
    assert result.allowed == ((PLACE, "a car park"),)
    assert result.unused_allowances == ()


def test_an_entry_that_matches_nothing_is_named() -> None:
    result = sort_out([], [SimpleNamespace(sha256="cd" * 32, reason="gone")], files_read=1)
    assert result.passed
    assert result.unused_allowances == ("cd" * 32,)


def test_a_hit_s_text_keeps_its_value_to_itself() -> None:
    assert "albert" not in repr(Hit("address", "albert rd 17"))


def test_a_problem_names_file_rule_place_and_next_step() -> None:
    (address, place) = audit_problems(AuditResult((ADDRESS, PLACE)))
    assert str(address) == (
        "site/a.html: A house of the town is named with its street. Place: text, line 4. Name the"
        " street alone. A public building may stand once town.toml lists it under"
        " [[public_buildings]]. [audit-address]"
    )
    assert str(place) == (
        "site/a.html: A grid reference inside the town is finer than one of the map's squares."
        " Place: text, line 3 (2 times). Shorten it, or take it out. If you are sure it is"
        " harmless, add three lines to the end of town.toml: [[audit_allow]] and"
        f' sha256 = "{"ab" * 32}" and reason = "…".'
        " [audit-grid-reference]"
    )


def test_every_rule_has_words() -> None:
    problems = audit_problems(AuditResult(tuple(Finding("a", rule, "text") for rule in RULES)))
    assert [problem.code for problem in problems] == [f"audit-{rule}" for rule in RULES]
    assert all(problem.what and problem.next_step for problem in problems)
