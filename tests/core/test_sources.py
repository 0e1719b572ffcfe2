"""Every number says where it comes from, and says so when it comes from nowhere."""

import pytest

from server.core.sources import Sureness, all_sources, source


def test_codes_are_unique_so_that_a_lookup_means_one_thing() -> None:
    codes = [one.code for one in all_sources()]

    assert len(codes) == len(set(codes))
    assert all(source(code).code == code for code in codes)


def test_a_source_from_memory_says_so_on_the_page() -> None:
    from_memory = [one for one in all_sources() if one.sureness is Sureness.from_memory]

    assert from_memory
    assert all(one.label.endswith("(from memory)") for one in from_memory)


def test_what_has_no_source_says_that_it_has_none() -> None:
    assert source("practice").label == "common practice, no source"


def test_an_unknown_code_names_the_known_ones() -> None:
    with pytest.raises(KeyError, match="geometry"):
        source("somebody said")
