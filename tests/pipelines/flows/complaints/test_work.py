"""The process in which an answer is worked out, and what it has to load."""

from __future__ import annotations

import gc
import subprocess
import sys
from multiprocessing import active_children
from typing import TYPE_CHECKING

import pytest

from pipelines.flows.complaint_work import beside, work_out
from tests.pipelines.flows.complaints.brewery import AT

if TYPE_CHECKING:
    from pipelines.config import Config

SLOW = """
import sys
import pipelines.flows.complaint_record
print([name for name in ("scipy.stats", "scipy.optimize", "weasyprint") if name in sys.modules])
"""


def test_what_takes_long_to_load_is_not_loaded_for_an_answer() -> None:
    """SciPy's statistics take longer than the rest together."""
    done = subprocess.run([sys.executable, "-c", SLOW], capture_output=True, text=True, check=True)
    assert done.stdout == "[]\n"


def test_where_the_other_process_dies_it_is_worked_out_here(config: Config) -> None:
    """Before it was asked or after, the record is the same."""
    here = work_out("C1", 1, AT, config)
    for asked_first in (False, True):
        with beside() as work:
            wait = work("C1", 1, AT, config) if asked_first else None
            (child,) = active_children()
            child.kill()
            child.join()
            assert (wait or work("C1", 1, AT, config))() == here


def test_an_error_ends_the_other_process_and_leaves_all_as_it_was() -> None:
    """Nobody waits for libraries that are not needed any more."""
    usual = gc.get_threshold()
    children = []

    def slip() -> None:
        with beside():
            children.extend(active_children())
            message = "a slip"
            raise ValueError(message)

    with pytest.raises(ValueError, match="a slip"):
        slip()
    (child,) = children
    child.join(10)
    assert child.exitcode not in {None, 0}
    assert gc.get_threshold() == usual
