"""The page a command prints by default."""

from moisturemap.results.brief import page


def test_a_first_item_too_long_for_the_page_leaves_its_place_to_the_next():
    """A page that says nothing but "and 3 more" says nothing."""
    long, short = ("why", "word " * 400), ("why", "no valid test in the hall")
    text = page(["Verdict: NOT PROVEN"], [long, short, long], [("-", "test the hall")])
    assert "no valid test in the hall" in text
    assert "and 2 more" in text
    assert len(text.splitlines()) <= 20
    assert "and 1 more" in page(["Head"], [long])
