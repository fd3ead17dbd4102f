"""pandera, loaded for polars alone, is whole for whoever asks it for the rest."""

from __future__ import annotations

import subprocess
import sys
import threading

import pytest

from stillroom_schemas import polars_alone

AFTERWARDS = {
    "as its own module": """
import pandera.pandas as pa
class Frame(pa.DataFrameModel):
    n: int = pa.Field(ge=0)
""",
    "by its old name": """
import pandera as pa
Frame = pa.DataFrameSchema({"n": pa.Column(int, pa.Check.ge(0))})
""",
    "by its types": """
import pandera.pandas as pa
from pandera.typing import Series
class Frame(pa.DataFrameModel):
    n: Series[int] = pa.Field(ge=0)
""",
}
CHECKED = """
import stillroom_schemas.sale, sys
assert not {"numpy", "pandas", "pyspark"} & sys.modules.keys()
"""
ASKED = """
import pandas as pd
Frame.validate(pd.DataFrame({"n": [1, 2]}))
try:
    Frame.validate(pd.DataFrame({"n": [1, -2]}))
except pa.errors.SchemaError as error:
    print(*error.failure_cases["failure_case"])
"""


@pytest.mark.parametrize("program", AFTERWARDS.values(), ids=AFTERWARDS)
def test_pandas_frames_can_be_checked_afterwards(program):
    asked = subprocess.run([sys.executable, "-c", CHECKED + program + ASKED], capture_output=True, text=True)
    assert (asked.stdout, asked.returncode) == ("-2\n", 0), asked.stderr


def test_another_thread_finds_what_is_hidden_from_pandera():
    hiding = polars_alone._Hiding()
    found = []
    other = threading.Thread(target=lambda: found.append(hiding.find_spec("pandas")))
    other.start()
    other.join()
    assert found == [None]  # it is left to the finders behind
    with pytest.raises(ModuleNotFoundError, match=r"^No module named 'pandas'$"):
        hiding.find_spec("pandas")


def test_polars_still_takes_arrays():
    program = f"{CHECKED}\nimport numpy, polars\nprint(polars.Series(numpy.ones(2)).to_list())"
    asked = subprocess.run([sys.executable, "-c", program], capture_output=True, text=True)
    assert (asked.stdout, asked.returncode) == ("[1.0, 1.0]\n", 0), asked.stderr
