"""Words that name no document and no certificate."""

from __future__ import annotations

import pytest

from moisturemap.survey.placeholder import names_certificate, names_nothing

MORE = ("applied for", "not required", "no", "see office", "as before", "self")


@pytest.mark.parametrize(
    "text", ["", " - ", "N/A", "tba", "pending, ordered", "keine", "inconnu", *MORE]
)
def test_placeholders_name_nothing(text: str):
    assert names_nothing(text)
    assert not names_certificate(text)


@pytest.mark.parametrize("text", ["sheet", "C-2025-118", "BS 8203", "Merkblatt 3", "fiche A"])
def test_documents_are_named(text: str):
    assert not names_nothing(text)
    assert names_certificate(text)


def test_a_certificate_that_lapsed_is_none():
    assert not names_certificate("expired 2024")
    assert not names_nothing("expired 2024")
