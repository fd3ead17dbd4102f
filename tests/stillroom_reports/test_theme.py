"""Colours against published rules: WCAG 2.2 contrast, and colour vision by Machado, Oliveira & Fernandes (2009)."""

from itertools import combinations

import numpy as np
import pytest

from stillroom_reports import theme

# Severity 1.0, for linear RGB.
SEEN_BY = {
    "usual vision": np.eye(3),
    "protanopia": [[0.152286, 1.052583, -0.204868], [0.114503, 0.786281, 0.099216], [-0.003882, -0.048116, 1.051998]],
    "deuteranopia": [[0.367322, 0.860646, -0.227968], [0.280085, 0.672501, 0.047413], [-0.011820, 0.042940, 0.968881]],
    "tritanopia": [[1.255528, -0.076749, -0.178779], [-0.078411, 0.930809, 0.147602], [0.004733, 0.691367, 0.303900]],
}
# IEC 61966-2-1 (sRGB), D65.
TO_XYZ = np.array([[0.4124, 0.3576, 0.1805], [0.2126, 0.7152, 0.0722], [0.0193, 0.1192, 0.9505]])
SCHEMES = {"light": theme.LIGHT, "dark": theme.DARK}


def linear(colour):
    channels = np.array([int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)])
    return np.where(channels <= 0.04045, channels / 12.92, ((channels + 0.055) / 1.055) ** 2.4)


def contrast(one, other):
    """WCAG 2.2: (L1 + 0.05) / (L2 + 0.05) of relative luminance."""
    darker, lighter = sorted(float(TO_XYZ[1] @ linear(colour)) for colour in (one, other))
    return (lighter + 0.05) / (darker + 0.05)


def lab(rgb):
    """CIELAB 1976 of linear RGB."""
    xyz = TO_XYZ @ np.clip(rgb, 0, 1) / TO_XYZ.sum(axis=1)
    f = np.where(xyz > (6 / 29) ** 3, np.cbrt(xyz), xyz / (3 * (6 / 29) ** 2) + 4 / 29)
    return np.array([116 * f[1] - 16, 500 * (f[0] - f[1]), 200 * (f[1] - f[2])])


def categories(scheme):
    return [colour for name, colour in SCHEMES[scheme].items() if name.startswith("chart-")]


def test_the_contrast_formula_is_that_of_wcag():
    assert contrast("#000000", "#ffffff") == pytest.approx(21)
    assert contrast("#767676", "#ffffff") == pytest.approx(4.54, abs=0.005)  # the lightest grey that passes for text


@pytest.mark.parametrize("scheme", SCHEMES)
@pytest.mark.parametrize("name", ["ink", "soft", "accent", "lost"])
def test_text_stands_out(scheme, name):
    assert contrast(SCHEMES[scheme][name], SCHEMES[scheme]["ground"]) >= 4.5  # WCAG 1.4.3


@pytest.mark.parametrize("scheme", SCHEMES)
def test_what_charts_draw_stands_out(scheme):
    assert len(categories(scheme)) == theme.CATEGORIES
    for colour in (*categories(scheme), SCHEMES[scheme]["normal"], SCHEMES[scheme]["lost"]):
        assert contrast(colour, SCHEMES[scheme]["ground"]) >= 3  # WCAG 1.4.11


@pytest.mark.parametrize("vision", SEEN_BY)
@pytest.mark.parametrize("scheme", SCHEMES)
def test_no_two_categories_look_alike(scheme, vision):
    seen = [lab(np.array(SEEN_BY[vision]) @ linear(colour)) for colour in categories(scheme)]
    assert min(float(np.linalg.norm(one - other)) for one, other in combinations(seen, 2)) >= 12


def test_page_and_picture_look_the_same_but_for_how_colours_are_named():
    page, picture = theme.page_config(), theme.picture_config()
    assert page["range"]["category"][0] == "var(--chart-1)"
    assert picture["range"]["category"][0] == theme.LIGHT["chart-1"]
    assert page.keys() == picture.keys()
    assert "var(" not in str(picture)


def test_every_colour_that_the_page_names_is_declared():
    import re
    from importlib.resources import files

    look = files("stillroom_reports").joinpath("look")
    css = "".join(one.read_text(encoding="utf-8") for one in look.iterdir() if one.name.endswith(".css"))
    used = set(re.findall(r"var\(--([a-z0-9-]+)\)", css + str(theme.page_config())))
    assert used == set(theme.LIGHT) == set(theme.DARK)


@pytest.mark.parametrize("scheme", SCHEMES)
def test_shades_stand_out_from_both_grounds(scheme):
    for shade in theme.SHADES["ramp"][2:]:
        assert contrast(shade, SCHEMES[scheme]["ground"]) >= 3  # WCAG 1.4.11
