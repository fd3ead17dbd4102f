"""The panel report's tables."""

from __future__ import annotations

from typing import Final

import polars as pl

from stillroom.analysis.panel.verdicts import PanelComparison
from stillroom.glossary import named
from stillroom.objects import Column, ReportTable
from stillroom_plugins.reports.panel.findings import decisive

_DIFFERENCE: Final = {
    **named("spec", "attribute", "version"),
    "against": Column(label="against"),
    **named("verdict"),
    "difference": Column(label="Difference", unit="points", decimals=2, signed=True),
    "low": Column(label="from", decimals=2, signed=True),
    "high": Column(label="to", decimals=2, signed=True),
    "p_all": Column(label="p, corrected", decimals=4, p_value=True),
    "effect": Column(label="Effect size", unit="residual SD", decimals=2, signed=True),
}


def tables(comparison: PanelComparison) -> tuple[ReportTable, ...]:
    """Differences first, then means and tests; every pair where the first table has not got them all."""
    built = [_differences(comparison), _bets(comparison), _means(comparison), _tests(comparison)]
    if (comparison.differences["correction"] == "Dunnett").any():
        built.append(_all_pairs(comparison))
    return tuple(table for table in built if table.frame.height)


def comments(said: pl.DataFrame, *, show_names: bool) -> tuple[ReportTable, ...]:
    """What tasters said in words, the newest first, beside the version that it is about; no table where nobody did.

    Args:
        said: the view `panel_comments`.
        show_names: whether panelists are named.
    """
    columns = {**named("spec", "version", "session"), "tasted_on": Column(label="Tasted on")}
    columns |= {"panelist": Column(label="Panelist")} if show_names else {}
    columns |= {"comment": Column(label="In words")}
    rows = said.sort(
        "spec", "tasted_on", "version", "panelist", "comment", descending=[False, True, True, False, False]
    )
    table = ReportTable(
        name="comments",
        title="What tasters said, in words",
        frame=rows.select(*columns),
        subjects="spec",
        columns=columns,
    )
    return (table,) if rows.height else ()


def _differences(comparison: PanelComparison) -> ReportTable:
    return ReportTable(
        name="differences",
        title="Versions side by side, newer against older",
        frame=decisive(comparison.differences).sort(
            "spec", pl.col("higher_is_better").not_(), "attribute", maintain_order=True
        ),
        subjects="spec",
        columns={
            **_DIFFERENCE,
            "exact_p": Column(label="p, exact, of the pair", decimals=4, p_value=True),
            "scored_higher": Column(label="Gave it more"),
            "scored_lower": Column(label="Gave it fewer"),
            **named("panelists"),
            "correction": Column(label="Corrected after"),
        },
        note="From and to are 95 % intervals that hold for all pairs of an attribute at once. Overall liking is the "
        "question: its p-value is corrected for its pairs alone. That of other attributes is corrected across them too "
        "(Holm), so that a verdict on them can be more cautious than its interval. No interval is given where order "
        "and version cannot be told apart, where sittings contradict one another, or where all agree to the point.",
    )


def _bets(comparison: PanelComparison) -> ReportTable:
    return ReportTable(
        name="bets",
        title="If you must choose: the bet on each version",
        frame=comparison.bets,
        subjects="spec",
        columns={
            **named("spec", "attribute", "version"),
            "chance_best": Column(label="Truly the best liked", percent=True),
            "expected_loss": Column(label="Given away by choosing it", unit="points", decimals=2),
            "usual_difference": Column(label="Usual difference of two versions", unit="points", decimals=2),
            "past_panels": Column(label="Learned from past panels"),
            **named("sessions"),
        },
        note="A bet, beside the verdict and never instead of it: how often the version is the best liked, and how many "
        "points choosing it gives away on average, when small differences are likelier than large ones. How large they "
        "usually are is learned from the house's own panels up to that one; before there are any, a guess is put in: "
        "true levels that scatter by four tenths of the tasters' own scatter, or a fifth to five times that.",
    )


def _means(comparison: PanelComparison) -> ReportTable:
    return ReportTable(
        name="means",
        title="Mean score of each version",
        frame=comparison.means,
        subjects="spec",
        columns={
            **named("spec", "attribute", "version"),
            "mean": Column(label="Mean", unit="points", decimals=2),
            "low": Column(label="from", decimals=2),
            "high": Column(label="to", decimals=2),
            **named("scores", "sessions"),
        },
        note="Adjusted for who tasted what. Compare versions by the table of differences: these intervals hold the "
        "panelists' own levels as well, which cancel in a difference. "
        "Without an interval: the plain mean, where nothing can be tested.",
    )


def _tests(comparison: PanelComparison) -> ReportTable:
    return ReportTable(
        name="tests",
        title="Do the versions differ at all?",
        frame=comparison.tests.filter(pl.col("f").is_not_null()),
        subjects="spec",
        statistics=True,
        columns={
            **named("spec", "attribute"),
            "f": Column(label="F", decimals=3),
            "df_between": Column(label="df versions", decimals=0),
            "df_within": Column(label="df residual", decimals=1),
            **named("p"),
            "eta_squared": Column(label="Partial eta squared", decimals=3),
            "residual_sd": Column(label="Residual SD", unit="points", decimals=2),
            "rank_method": Column(label="Rank test"),
            "rank_statistic": Column(label="chi-square", decimals=3),
            "rank_p": Column(label="p of ranks", decimals=4, p_value=True),
            "rank_left_out": Column(label="left out of ranks"),
            "first_glass": Column(label="First glass", unit="points", decimals=2, signed=True),
            "first_glass_p": Column(label="p of it", decimals=4, p_value=True),
            "panelist_f": Column(label="F of panelists", decimals=3),
            "panelist_p": Column(label="p of panelists", decimals=4, p_value=True),
            "method": Column(label="Model"),
        },
        note="F and p of panelists: whether some score higher than others, on df of the panelists less 1. The mixed "
        "model draws them from a crowd instead and has none.",
    )


def _all_pairs(comparison: PanelComparison) -> ReportTable:
    return ReportTable(
        name="all-pairs",
        title="Every pair of versions, after Tukey",
        frame=comparison.differences.filter(pl.col("correction") == "Tukey"),
        subjects="spec",
        statistics=True,
        columns={
            **_DIFFERENCE,
            "p": Column(label="p within attribute", decimals=4, p_value=True),
            "se": Column(label="SE", decimals=3),
        },
    )
