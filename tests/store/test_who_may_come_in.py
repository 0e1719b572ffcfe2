"""Links for helpers, the passphrase, sign-ins, and how often somebody may try."""

import stat
from collections.abc import Iterator
from datetime import datetime, timedelta
from pathlib import Path

import pytest
from argon2 import PasswordHasher, extract_parameters
from hypothesis import given
from hypothesis import strategies as st
from sqlalchemy import Engine, text
from sqlmodel import Session

from server.db import write_session
from server.errors import BadInput, NotFound
from server.features.builders import service as builders
from server.features.builders.service import check_passphrase, passphrase_set, set_passphrase
from server.features.builds.service import hand_over, is_of
from server.features.builds.store import BuildFace
from server.features.sharing import service
from server.features.sharing.page import Scope
from server.features.sharing.service import (
    LINK_ATTEMPTS,
    SIGN_IN_ATTEMPTS,
    check_token,
    share,
    sign_in,
    who,
)
from server.web.whose import OWNER, Whose
from tests.factories import a_build

GOOD = "four blue tubes weld"
DAY = timedelta(days=1)
HOUR = timedelta(hours=1)
MOMENT = timedelta(seconds=1)


@pytest.fixture
def session(any_engine: Engine) -> Iterator[Session]:
    with write_session(any_engine) as opened:
        yield opened


@pytest.fixture
def build(session: Session, now: datetime) -> BuildFace:
    return a_build(session, now)


def everything_in(session: Session, table: str) -> str:
    return str(session.execute(text(f"SELECT * FROM {table}")).all())


def test_a_token_is_26_characters_that_can_be_read_aloud_and_never_the_same() -> None:
    made = {service.new_token() for _ in range(200)}
    assert len(made) == 200
    assert all(len(token) == 26 and set(token) <= set(service.BASE32) for token in made)
    assert 26 * (len(service.BASE32).bit_length() - 1) == 130
    assert {letter for token in made for letter in token} == set(service.BASE32)


def test_a_link_opens_its_build_with_its_scope(session: Session, build: BuildFace, now: datetime) -> None:
    token, link = share(session, build.id, " Sam ", "work", now)
    assert check_token(session, token, now) == link
    assert (link.build_id, link.name, link.scope) == (build.id, "Sam", Scope.WORK)


def test_the_token_itself_is_stored_nowhere(session: Session, build: BuildFace, now: datetime) -> None:
    token, _ = share(session, build.id, "Sam", "look", now)
    stored = everything_in(session, "share_token")
    assert "Sam" in stored
    assert token not in stored
    assert token.lower() not in stored


def test_a_token_may_be_typed_in_small_letters(session: Session, build: BuildFace, now: datetime) -> None:
    token, link = share(session, build.id, "Sam", "look", now)
    assert check_token(session, f" {token.lower()} ", now) == link


@pytest.mark.parametrize("token", ["", "A" * 26, "\x00", "\ud800", "' OR 1=1 --", "x" * 100_000])
def test_any_other_token_opens_nothing(session: Session, build: BuildFace, now: datetime, token: str) -> None:
    share(session, build.id, "Sam", "look", now)
    assert check_token(session, token, now) is None


def test_a_link_ends_after_thirty_days_unless_told_otherwise(
    session: Session, build: BuildFace, now: datetime
) -> None:
    usual, _ = share(session, build.id, "Sam", "look", now)
    short, _ = share(session, build.id, "Alex", "look", now, days=1)
    assert check_token(session, short, now + DAY - MOMENT)
    assert check_token(session, short, now + DAY) is None
    assert check_token(session, usual, now + 30 * DAY - MOMENT)
    assert check_token(session, usual, now + 30 * DAY) is None


def test_a_link_that_was_withdrawn_opens_nothing_and_the_others_still_do(
    session: Session, build: BuildFace, now: datetime
) -> None:
    token, link = share(session, build.id, "Sam", "look", now)
    other, _ = share(session, build.id, "Alex", "look", now)
    service.withdraw(session, build.id, link.id, now)
    service.withdraw(session, build.id, link.id, now + HOUR)
    assert check_token(session, token, now) is None
    assert check_token(session, other, now)
    assert [one.withdrawn_at for one in service.links(session, build.id)] == [None, now]


def test_a_link_can_be_withdrawn_from_its_own_build_only(
    session: Session, build: BuildFace, now: datetime
) -> None:
    token, link = share(session, build.id, "Sam", "look", now)
    another = a_build(session, now, name="Another")
    with pytest.raises(NotFound):
        service.withdraw(session, another.id, link.id, now)
    assert check_token(session, token, now)


def test_looking_changes_nothing_and_use_is_noted_once_an_hour(
    session: Session, build: BuildFace, now: datetime
) -> None:
    token, _ = share(session, build.id, "Sam", "look", now)

    def used(moment: datetime) -> datetime | None:
        link = check_token(session, token, moment)
        assert link is not None
        service.note_use(session, link, moment)
        session.expire_all()
        [after] = service.links(session, build.id)
        return after.last_used_at

    check_token(session, token, now)
    assert service.links(session, build.id)[0].last_used_at is None
    assert used(now) == now
    assert used(now + HOUR - MOMENT) == now
    assert used(now + HOUR) == now + HOUR


def test_a_link_without_name_scope_or_sensible_length_is_refused_all_at_once(
    session: Session, build: BuildFace, now: datetime
) -> None:
    with pytest.raises(BadInput) as refused:
        share(session, build.id, " ", "own", now, days=0)
    assert [error.field for error in refused.value.errors] == ["name", "scope", "days"]
    assert refused.value.typed == {"name": "", "scope": "own", "days": "0"}
    assert service.links(session, build.id) == ()


def test_before_a_passphrase_is_set_none_is_right(tmp_path: Path) -> None:
    assert not passphrase_set(tmp_path)
    assert not check_passphrase(tmp_path, GOOD)


def test_only_the_passphrase_that_was_set_is_right(tmp_path: Path) -> None:
    set_passphrase(tmp_path, GOOD)
    assert passphrase_set(tmp_path)
    assert check_passphrase(tmp_path, GOOD)
    assert not check_passphrase(tmp_path, GOOD.upper())
    assert not check_passphrase(tmp_path, "")
    assert not check_passphrase(tmp_path, GOOD + "\ud800")


def test_the_passphrase_is_kept_as_an_argon2id_hash_for_this_user_alone(tmp_path: Path) -> None:
    set_passphrase(tmp_path, GOOD)
    path = tmp_path / "passphrase"
    kept = extract_parameters(path.read_text())
    # RFC 9106, section 4, second recommended option: t=3, p=4, m=2^16 KiB (64 MiB), 128-bit salt, 256-bit tag
    assert path.read_text().startswith("$argon2id$")
    assert (kept.time_cost, kept.parallelism, kept.memory_cost) == (3, 4, 2**16)
    assert (kept.salt_len, kept.hash_len) == (16, 32)
    assert stat.S_IMODE(path.stat().st_mode) == 0o600
    assert GOOD not in path.read_text()
    assert list(tmp_path.iterdir()) == [path]


def test_a_new_passphrase_replaces_the_old_one(tmp_path: Path) -> None:
    set_passphrase(tmp_path, GOOD)
    set_passphrase(tmp_path, "another long passphrase")
    assert not check_passphrase(tmp_path, GOOD)
    assert check_passphrase(tmp_path, "another long passphrase")


@pytest.mark.parametrize(("length", "taken"), [(11, False), (12, True), (128, True), (129, False)])
def test_a_passphrase_has_12_to_128_characters(tmp_path: Path, length: int, taken: bool) -> None:
    if taken:
        set_passphrase(tmp_path, "é" * length)
        assert check_passphrase(tmp_path, "é" * length)
        return
    with pytest.raises(BadInput, match=f"{length} characters") as refused:
        set_passphrase(tmp_path, "é" * length)
    assert refused.value.typed == {}
    assert not passphrase_set(tmp_path)


def test_an_accent_is_the_same_however_a_keyboard_composes_it(tmp_path: Path) -> None:
    set_passphrase(tmp_path, "caf\u00e9 by the lift")
    assert check_passphrase(tmp_path, "cafe\u0301 by the lift")


def test_a_hash_made_with_lower_costs_is_made_anew_when_the_passphrase_is_given(tmp_path: Path) -> None:
    path = tmp_path / "passphrase"
    path.write_text(PasswordHasher(time_cost=1, memory_cost=1024, parallelism=1).hash(GOOD))
    assert not check_passphrase(tmp_path, GOOD + "s")
    assert extract_parameters(path.read_text()).time_cost == 1
    assert check_passphrase(tmp_path, GOOD)
    assert extract_parameters(path.read_text()).time_cost == 3
    assert check_passphrase(tmp_path, GOOD)


def test_a_file_that_holds_no_hash_lets_nobody_in(tmp_path: Path) -> None:
    (tmp_path / "passphrase").write_text(GOOD)
    assert not check_passphrase(tmp_path, GOOD)


def test_a_browser_that_signed_in_is_known_by_its_token_which_is_stored_nowhere(
    session: Session, now: datetime
) -> None:
    token = sign_in(session, now)
    signed = who(session, token, now)
    assert signed is not None
    assert signed.since == now
    assert len(token) == 43  # 256 bits in base64 without padding
    assert token not in everything_in(session, "sign_in")
    assert who(session, token + "x", now) is None
    assert who(session, "", now) is None


def test_each_sign_in_has_a_token_of_its_own(session: Session, now: datetime) -> None:
    first, second = sign_in(session, now), sign_in(session, now)
    service.end(session, first, now)
    session.expire_all()
    assert who(session, first, now) is None
    assert who(session, second, now) is not None


def test_a_browser_that_stays_away_for_thirty_days_is_asked_again(session: Session, now: datetime) -> None:
    token = sign_in(session, now)
    assert who(session, token, now + 30 * DAY - MOMENT) is not None
    assert who(session, token, now + 30 * DAY) is None


def test_a_browser_that_comes_every_week_is_asked_again_after_half_a_year(
    session: Session, now: datetime
) -> None:
    token = sign_in(session, now)
    moment = now
    while (signed := who(session, token, moment)) is not None:
        service.note_seen(session, signed, moment)
        session.expire_all()
        moment += 5 * DAY
    assert moment == now + 180 * DAY


def test_being_seen_is_written_once_an_hour(session: Session, now: datetime) -> None:
    token = sign_in(session, now)
    for later, noted in ((HOUR - MOMENT, now), (HOUR, now + HOUR), (HOUR + MOMENT, now + HOUR)):
        signed = who(session, token, now + later)
        assert signed is not None
        service.note_seen(session, signed, now + later)
        session.expire_all()
        after = who(session, token, now + later)
        assert after is not None
        assert after.last_seen_at == noted


def test_every_browser_can_be_signed_out_at_once(session: Session, now: datetime) -> None:
    tokens = [sign_in(session, now) for _ in range(3)]
    service.end_all(session, OWNER, now)
    session.expire_all()
    assert [who(session, token, now) for token in tokens] == [None, None, None]


@pytest.fixture
def jo(session: Session, now: datetime) -> Whose:
    """A further builder."""
    return Whose(builders.add_builder(session, "Jo", GOOD, now))


def test_each_builder_is_let_in_by_their_own_passphrase(session: Session, jo: Whose, tmp_path: Path) -> None:
    set_passphrase(tmp_path, "another long passphrase")
    assert builders.whose_name(session, " jo ") == jo
    assert builders.whose_name(session, "") == OWNER
    assert builders.whose_name(session, "Sam") is None

    def lets_in(whose: Whose | None, text: str) -> bool:
        return builders.check_passphrase_of(session, tmp_path, whose, text)

    assert lets_in(jo, GOOD)
    assert lets_in(OWNER, "another long passphrase")
    assert not lets_in(jo, "another long passphrase")
    assert not lets_in(OWNER, GOOD)
    assert not lets_in(None, GOOD)
    builders.set_passphrase_of(session, tmp_path, jo, "one more long passphrase")
    assert not lets_in(jo, GOOD)
    assert lets_in(jo, "one more long passphrase")
    assert GOOD not in everything_in(session, "builder")


@pytest.mark.parametrize("name", ["", "x" * 81, "JO", "Builder", " jO "])
def test_a_builder_needs_a_name_that_nobody_has(
    session: Session, jo: Whose, now: datetime, name: str
) -> None:
    with pytest.raises(BadInput) as refused:
        builders.add_builder(session, name, "short", now)
    assert [error.field for error in refused.value.errors] == ["name", "first"]
    assert "short" not in refused.value.typed.values()
    assert builders.builder_names(session) == {jo.builder_id: "Jo"}


def test_a_build_is_of_who_began_it_or_was_handed_it(session: Session, jo: Whose, build: BuildFace) -> None:
    assert is_of(session, build.id, OWNER)
    assert not is_of(session, build.id, jo)
    hand_over(session, build.id, jo)
    assert is_of(session, build.id, jo)
    assert not is_of(session, build.id, OWNER)
    assert not is_of(session, build.id + 1, jo)


def test_signing_out_touches_one_s_own_browsers_only(session: Session, jo: Whose, now: datetime) -> None:
    mine, hers = sign_in(session, now), sign_in(session, now, jo, "Her phone")
    (signed,) = service.signed_in(session, jo, now)
    assert (signed.device, signed.whose) == ("Her phone", jo)
    with pytest.raises(NotFound):
        service.end_one(session, OWNER, signed.id, now)
    service.end_all(session, jo, now, but=signed.id)
    assert who(session, hers, now) is not None
    service.end_one(session, jo, signed.id, now)
    session.expire_all()
    assert who(session, hers, now) is None
    assert who(session, mine, now) is not None
    assert service.signed_in(session, OWNER, now + 30 * DAY) == ()


def test_five_failures_on_an_account_make_it_wait_from_any_address(now: datetime) -> None:
    tries = SIGN_IN_ATTEMPTS
    for number in range(5):
        assert tries.wait("builder", "192.0.2.9", now) == timedelta(0)
        tries = tries.failed("builder", f"192.0.2.{number}", now + timedelta(minutes=number))
    later = now + timedelta(minutes=5)
    assert tries.wait("builder", "192.0.2.9", later) == timedelta(minutes=10)
    assert tries.wait("somebody else", "192.0.2.9", later) == timedelta(0)
    assert tries.wait("builder", "192.0.2.9", now + timedelta(minutes=15)) == timedelta(0)


def test_twenty_failures_from_an_address_make_it_wait_for_any_account(now: datetime) -> None:
    tries = SIGN_IN_ATTEMPTS
    for number in range(20):
        assert tries.wait("one more", "192.0.2.1", now) == timedelta(0)
        tries = tries.failed(f"account {number}", "192.0.2.1", now)
    assert tries.wait("one more", "192.0.2.1", now) == timedelta(minutes=15)
    assert tries.wait("one more", "192.0.2.2", now) == timedelta(0)


def test_getting_in_forgives_the_account_but_not_the_address(now: datetime) -> None:
    tries = SIGN_IN_ATTEMPTS
    for number in range(20):
        tries = tries.failed("builder", "192.0.2.1", now).succeeded("builder" if number % 4 == 3 else "")
    tries = tries.succeeded("builder")
    assert tries.wait("builder", "192.0.2.2", now) == timedelta(0)
    assert tries.wait("builder", "192.0.2.1", now) > timedelta(0)


def test_ten_bad_links_a_minute_are_allowed_from_one_address(now: datetime) -> None:
    tries = LINK_ATTEMPTS
    for _ in range(10):
        assert tries.wait("", "192.0.2.1", now) == timedelta(0)
        tries = tries.failed("", "192.0.2.1", now)
    assert tries.wait("", "192.0.2.1", now) == timedelta(minutes=1)
    assert tries.wait("", "192.0.2.2", now) == timedelta(0)


@given(st.lists(st.tuples(st.integers(0, 3000), st.sampled_from("ab"), st.sampled_from("xyz")), max_size=60))
def test_whoever_waits_as_long_as_told_may_try_and_no_window_holds_more_than_is_allowed(
    asked: list[tuple[int, str, str]],
) -> None:
    begin = datetime(2026, 11, 25, 10, 0)
    tries = SIGN_IN_ATTEMPTS
    let_through: list[tuple[datetime, str]] = []
    for seconds, account, address in sorted(asked):
        moment = begin + timedelta(seconds=seconds)
        told = tries.wait(account, address, moment)
        assert tries.wait(account, address, moment + told) == timedelta(0)
        if told == timedelta(0):
            tries = tries.failed(account, address, moment)
            let_through.append((moment, account))
    for moment, account in let_through:
        window = [
            one for one in let_through if one[1] == account and moment <= one[0] < moment + tries.window
        ]
        assert len(window) <= 5
