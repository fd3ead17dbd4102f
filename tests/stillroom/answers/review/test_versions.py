"""Versions side by side: how each is liked, by the panel report's own figures."""

from types import SimpleNamespace

from rework_frames import LAST, inputs
from stillroom.answers.review.versions import _liking


def test_liking_is_that_of_the_panel_report_with_its_range_and_tasters() -> None:
    bench = SimpleNamespace(frames=inputs().frames, season=SimpleNamespace(period=SimpleNamespace(last=LAST)))
    shown = [SimpleNamespace(spec="Good Fizz", version=version) for version in (1, 2, 3)]
    # By hand: ten people gave 4.9 and 7.15 on average, with variances 0.767 and 0.781; a mean's standard error is
    # sqrt((0.767 + 0.781) / 20) = 0.278, of which Student's t, 2.09 (18 degrees) to 2.26 (9), makes 0.58 to 0.63.
    [(_, told)] = _liking(bench, shown)
    assert told == ("4.9 (4.3 to 5.5; 10)", "7.2 (6.5 to 7.8; 10)", "–")
    bench.frames = {**bench.frames, "panel_scores": bench.frames["panel_scores"].clear()}
    assert _liking(bench, shown)[0][1] == ("–", "–", "–")
