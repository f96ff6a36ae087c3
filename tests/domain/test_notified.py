"""Growers act on what they are told, so a later change of the record has to name them."""

from __future__ import annotations

from roundtui.domain.entries import Notified
from roundtui.domain.figures.verdicts import Status
from tests.domain.orchard import Orchard, day


def test_a_look_alike_identified_after_the_call_lists_who_was_called_on_an_older_figure() -> None:
    orchard = Orchard()
    orchard.hang("A1", on="05-01")
    first = orchard.visit("A1", "05-08", 6)
    orchard.notified.append(
        Notified(
            block="N1",
            species="CM",
            round_on=day("05-08"),
            status="over",
            notified_on=day("05-08"),
            by="Ada",
            how="phone",
        )
    )
    assert orchard.summary("05-08").older_figure_calls == ()
    orchard.visits.remove(first)
    orchard.visit("A1", "05-08", 2, replaces=first.id, reason="four were look-alikes, vial 7")
    for on in ("05-08", "05-15"):
        (row,) = orchard.summary(on).older_figure_calls
        assert (row.block, row.round_on, row.notified, row.now, row.by) == (
            "N1",
            day("05-08"),
            "over",
            Status.BELOW,
            "Ada",
        )
    orchard.notified.append(
        Notified(
            block="N1",
            species="CM",
            round_on=day("05-08"),
            status="below",
            notified_on=day("05-15"),
            by="Ada",
            how="phone",
        )
    )
    assert orchard.summary("05-15").older_figure_calls == ()
