"""Replies of experts: what is read, what is refused, and what the seal shows."""

from __future__ import annotations

import json
import tomllib
from dataclasses import asdict, fields, replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from trug.errors import InputError
from trug.records.replies import (
    CERTAINTIES,
    FORMAT,
    RESTS_ON,
    Reply,
    canonical_reply,
    check_seal,
    checked,
    read_reply,
    reply_form,
    seal_of,
)

SECRET = "0f" * 32
OTHER = "a0" * 32
words = st.text(st.characters(exclude_categories=("Cc", "Cs")), min_size=1, max_size=40).filter(lambda t: t.strip(" "))


@st.composite
def replies(draw: st.DrawFn) -> Reply:
    return checked(
        packet=draw(st.uuids().map(str)),
        expert=draw(words),
        name=draw(words),
        fruitbodies=draw(st.sampled_from(("all", "a", "a, b"))),
        certainty=draw(st.sampled_from(("", *CERTAINTIES))),
        rests_on=draw(st.sampled_from(RESTS_ON)),
        remarks=draw(st.text(st.characters(exclude_categories=("Cc", "Cs"), include_characters="\n\t"), max_size=80)),
        written_on=draw(st.dates().map(str)),
    )


def sealed(reply: Reply, secret: str = SECRET) -> Reply:
    return replace(reply, seal=seal_of(reply, secret))


def as_json(reply: Reply) -> bytes:
    return json.dumps(asdict(reply)).encode()


@given(replies())
def test_a_sealed_reply_comes_back_whole_from_its_file(reply):
    back = read_reply(as_json(sealed(reply)))
    assert back == sealed(reply)
    assert check_seal(back, SECRET) == "sealed"


@given(replies(), st.sampled_from([f.name for f in fields(Reply) if f.name != "seal"]), words)
def test_a_change_of_any_field_breaks_the_seal(reply, field, word):
    changed = replace(sealed(reply), **{field: getattr(reply, field) + word})
    assert check_seal(changed, SECRET) == "broken"


@given(replies())
def test_the_seal_of_another_packet_does_not_hold(reply):
    assert check_seal(sealed(reply, OTHER), SECRET) == "broken"
    assert check_seal(reply, SECRET) == "unsealed"


@given(replies(), st.text(max_size=70))
def test_no_made_up_seal_holds(reply, seal):
    assert check_seal(replace(reply, seal=seal), SECRET) != "sealed"


def test_canonical_form_is_fixed():
    """Typed by hand: a change would break the seals of packets that are out already."""
    reply = checked(
        packet="p", expert=" Bo ", name="Ruth\u0065\u0301", remarks="one\r\ntwo\u2028\t", written_on="2026-10-04"
    )
    assert (
        canonical_reply(reply)
        == (
            '{"certainty":"","expert":"Bo","format":"trug.reply/1","fruitbodies":"all","name":"Ruth\u00e9","packet":"p",'
            '"remarks":"one\\ntwo\u2028","rests_on":"packet","written_on":"2026-10-04"}'
        ).encode()
    )


def test_seal_is_the_hmac_of_the_canonical_form():
    """RFC 4231, test case 2, through the same call: key "Jefe", data "what do ya want for nothing?"."""
    import hashlib
    import hmac

    printed = "5bdcc146bf60754e6a042426089575c75a003f089d2739839dec58b964ec3843"
    assert hmac.new(b"Jefe", b"what do ya want for nothing?", hashlib.sha256).hexdigest() == printed
    reply = checked(packet="p", expert="Bo", name="x")
    mac = hmac.new(b"Jefe", canonical_reply(reply), hashlib.sha256).hexdigest()
    assert seal_of(reply, b"Jefe".hex()) == mac


@given(words, st.text(st.characters(exclude_categories=("Cs",)), max_size=60))
def test_the_blank_form_reads_back_once_it_is_filled_in(name, question):
    asked = "".join(c for c in question if c.isprintable() or c == "\n")
    blank = reply_form("packet-1", asked)
    table = tomllib.loads(blank)
    assert table["format"] == FORMAT
    assert set(table) == {f.name for f in fields(Reply)}
    quoted = json.dumps(name)
    filled = blank.replace('expert = ""', f"expert = {quoted}").replace('name = ""', f"name = {quoted}")
    if "\\u" in quoted and any(0xD800 <= int(h[:4], 16) <= 0xDFFF for h in quoted.split("\\u")[1:]):
        return  # JSON writes signs beyond the first plane as two halves, TOML does not
    reply = read_reply(filled.encode())
    assert reply.packet == "packet-1"
    assert check_seal(reply, SECRET) == "unsealed"


@pytest.mark.parametrize(
    ("change", "told"),
    [
        ({"format": "trug.find/1"}, "no reply"),
        ({"packet": ""}, "which packet"),
        ({"expert": " "}, "who answers"),
        ({"name": ""}, "not named"),
        ({"certainty": "99 %"}, "certain, likely, possible"),
        ({"rests_on": "a dream"}, "packet, specimen"),
        ({"name": "x" * 201}, "200 characters"),
        ({"remarks": 7}, "quotation marks"),
        ({"nmae": "x"}, "did you mean 'name'"),
    ],
)
def test_what_cannot_be_used_is_refused_with_what_to_do(change, told):
    table = asdict(Reply("p", "Bo", "x")) | change
    with pytest.raises(InputError) as caught:
        read_reply(json.dumps(table).encode())
    assert told in caught.value.message


@pytest.mark.parametrize("data", [b"", b"\xff\xfe", b"PK\x03\x04", b"x" * 300_000, b"{", b"expert = "])
def test_other_files_are_refused(data):
    with pytest.raises(InputError):
        read_reply(data)


def test_a_date_without_quotation_marks_is_taken():
    text = 'format = "trug.reply/1"\npacket = "p"\nexpert = "Bo"\nname = "x"\nwritten_on = 2026-10-04\n'
    assert read_reply(text.encode()).written_on == "2026-10-04"
