"""`python -m tests.bench.gate`: 500 drawn orders of requests to the gate before the first start, none of
which may pass a stage that is not signed; minutes.
"""

import sys
import tempfile
from pathlib import Path

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from server.app import create_app
from server.migrate import make_data_folder, upgrade
from server.settings import settings_for
from tests.asking import Browser
from tests.at_the_gate import at_the_gate
from tests.conftest import TEN_IN_THE_MORNING
from tests.gate_play import STAGES, Act, Play, acts

EXAMPLES = 500


def main(examples: int = EXAMPLES) -> None:
    """Play them all against one server; an order that passes a stage is printed at its shortest."""
    with tempfile.TemporaryDirectory() as folder:
        mine = settings_for(data=Path(folder) / "data", environment={})
        make_data_folder(mine)
        upgrade(mine)
        app = create_app(mine, lambda: TEN_IN_THE_MORNING)
        with Browser(app) as browser:

            @settings(
                max_examples=examples, database=None, deadline=None, suppress_health_check=list(HealthCheck)
            )
            @given(ready=st.integers(0, STAGES), drawn=acts)
            def one_order(ready: int, drawn: list[Act]) -> None:
                play = Play(at_the_gate(browser))
                play.begin(ready)
                for act in drawn:
                    play.do(act)

            one_order()
        app.state.engine.dispose()
    print(f"{examples} orders of requests: no stage was passed that was not signed")


if __name__ == "__main__":
    main(*(int(one) for one in sys.argv[1:2]))
