"""Whatever the JSON door is asked, as described or otherwise, ends in an answer, never in a fault."""

from pathlib import Path

import pytest
import schemathesis
from hypothesis import HealthCheck, Phase, given, settings
from schemathesis.config import SchemathesisConfig

DEMO = Path(__file__).parents[3] / "datasets" / "demo"
QUIET = settings(
    max_examples=12,
    derandomize=True,
    database=None,
    deadline=None,
    phases=[Phase.explicit, Phase.generate],
    suppress_health_check=list(HealthCheck),
)


@pytest.fixture(scope="module")
def described(tmp_path_factory):
    from starlette.testclient import TestClient

    from jointlab.app.web.application import make_app
    from jointlab.app.web.shop import Shop

    place = str(tmp_path_factory.mktemp("book") / "shop.db")
    client = TestClient(make_app(Shop(place=place, names=frozenset({"testserver"}))), raise_server_exceptions=False)
    client.headers["x-jointlab-token"] = client.get("/api/token").json()["token"]
    rows = DEMO.joinpath("pulls.csv").read_text().splitlines()
    client.post("/api/import", content="\n".join([*rows[:9], *rows[-2:]]).encode())
    schema = schemathesis.openapi.from_dict(client.get("/api/openapi.json").json(), config=SchemathesisConfig())
    return client, schema


def operations(schema):
    return [found.ok() for found in schema.get_all_operations()]


def can_be_broken(operation):
    """Whether there is anything in it to be wrong about: a body or a closed parameter."""
    return operation.method.upper() == "POST"


def test_every_path_is_described_with_what_it_answers(described):
    _, schema = described
    paths = {operation.path for operation in operations(schema)}
    assert {"/api/pulls", "/api/strength", "/api/compare", "/api/mount", "/api/decide", "/api/import",
            "/api/target", "/api/runout", "/api/plan", "/api/plans", "/api/mounts", "/api/pool"} <= paths  # fmt: skip


@pytest.mark.parametrize("negative", [False, True], ids=["as described", "as not described"])
def test_no_request_ends_in_a_fault(described, negative):
    client, schema = described
    mode = schemathesis.GenerationMode.NEGATIVE if negative else schemathesis.GenerationMode.POSITIVE
    answers = 0
    for operation in operations(schema):
        if negative and not can_be_broken(operation):
            continue

        @QUIET
        @given(case=operation.as_strategy(generation_mode=mode))
        def tried(case):
            nonlocal answers
            sent = case.as_transport_kwargs(base_url="http://testserver")
            headers = {name: value for name, value in (sent.pop("headers", None) or {}).items() if "token" not in name}
            sent.pop("cookies", None)
            raw = sent.pop("data", None)
            if raw is not None:
                sent["content"] = raw if isinstance(raw, bytes) else str(raw).encode("utf-8", "replace")
            answer = client.request(**sent, headers=headers)
            assert answer.status_code < 500, (case.method, case.path, sent, answer.text)
            answers += 1

        tried()
    assert answers > 60


STEPS = {
    "/": "First say what is glued to what",
    "/pulls": 'href="/import">import a file</a>',
    "/plan": "What is glued to what, one a line",
    "/strength": 'href="/">Record the first</a>',
    "/compare": 'href="/">record the first pull</a>',
    "/mount": 'href="/plan">Plan the tests</a>',
    "/mounts": 'href="/mount">Describe one</a>',
    "/publish": 'href="/">Record the first</a>',
    "/import": "/pulls/template.xlsx",
    "/rigs": "No rig is kept yet",
}


@pytest.mark.parametrize("path", STEPS)
def test_an_empty_book_says_what_to_do(door, path):
    answer = door.get(path)
    assert answer.status_code == 200
    assert STEPS[path] in answer.text
    assert 'role="alert"' not in answer.text
