"""Cases made from the OpenAPI description by Schemathesis (MIT licence), good ones and bad ones, on the loopback.

Each answer is checked by that library against the description: status, media type, headers, body. Bad values, missing
tokens and undescribed methods have to be refused. The same cases each time.
"""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Any
from urllib.parse import parse_qsl

import pytest
import schemathesis
from hypothesis import HealthCheck, Phase, settings
from requests import Request
from schemathesis.specs.openapi.checks import negative_data_rejection
from tests.web.pulling import ALL, Pulled, pulled_from

from benchseal.shipped import interface_description

if TYPE_CHECKING:
    from collections.abc import Iterator

    from benchseal.demo.play import Played

_SAME_EACH_TIME = settings(
    derandomize=True,
    deadline=None,
    database=None,
    suppress_health_check=list(HealthCheck),
    phases=[Phase.explicit, Phase.generate],
)


@pytest.fixture(scope="module")
def pulled(played: Played, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Pulled]:
    with pulled_from(played, tmp_path_factory.mktemp("described") / "site") as made:
        yield made


schema = schemathesis.openapi.from_dict(json.loads(interface_description()))


def _ask(case: Any, pulled: Pulled) -> None:  # noqa: ANN401
    """A bad value that is an empty list leaves nothing in the address: what is sent then is good, and may be taken."""
    base = f"http://127.0.0.1:{pulled.port}"
    sent = Request(**case.as_transport_kwargs(base_url=base)).prepare().url or ""
    names = {name for name, _ in parse_qsl(sent.partition("?")[2], keep_blank_values=True)}
    case.call_and_validate(
        base_url=base,
        headers={"Authorization": f"Bearer {pulled.tokens[ALL]}"},
        excluded_checks=[] if names >= {*(case.query or {})} else [negative_data_rejection],
    )


@schema.parametrize()
@settings(_SAME_EACH_TIME, max_examples=20)
def test_answers_are_as_described(case: Any, pulled: Pulled) -> None:  # noqa: ANN401
    _ask(case, pulled)


@pytest.mark.long
@schema.parametrize()
@settings(_SAME_EACH_TIME, max_examples=1000)
def test_more_answers_are_as_described(case: Any, pulled: Pulled) -> None:  # noqa: ANN401
    _ask(case, pulled)
