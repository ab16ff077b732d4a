"""What pages take from the catalogue: each choice of layers names its film and what is asked of it."""

from __future__ import annotations

from dashboard.known import asks, from_catalogue


def test_each_choice_of_layers_names_the_film_and_what_is_asked_of_it() -> None:
    known = from_catalogue()
    assert known.layers
    for one in known.layers:
        assert one.film.strip()
        assert one.title.strip()
        assert "at the adhesive" in one.asks
        assert "at the face" in one.asks
    strip = next(one for one in known.layers if one.key == "strip-on-margin")
    assert "formula of 2010" in strip.film
    assert "at the adhesive 70 °C at least (cited)" in strip.asks
    assert "our proposal" in strip.asks


def test_a_film_without_a_figure_says_that_only_a_mock_up_tells() -> None:
    told = {"min_c": None, "max_c": None, "ceiling_c": 50, "figures": {"ceiling_c": {"grade": "proposal"}}}
    assert asks(told) == "at the adhesive: only a mock-up tells; at the face 50 °C at most (our proposal)"


def test_sources_have_titles() -> None:
    assert "Conserving Canvas" in from_catalogue().sources["conserving-canvas-19"]
