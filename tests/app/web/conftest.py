import io
import re

import pytest
from starlette.testclient import TestClient

from jointlab.app.web.application import make_app
from jointlab.app.web.shop import Shop

NAME = "testserver"
ENTRY = {
    "batch": "A", "specimen": "1", "glue": "pva", "substrate": "maple", "action": "pry", "shape": "disc",
    "diameter": "50", "arm": "300", "length_unit": "mm", "load": "12,5", "load_unit": "load_kgf", "outcome": "broke",
    "break": "wood", "tested_on": "2026-03-14",
}  # fmt: skip


class Door:
    """A browser without scripts: it keeps cookies and the token of the last page."""

    def __init__(self, shop):
        self.shop = shop
        self.client = TestClient(make_app(shop), raise_server_exceptions=False)
        self.token = ""

    def get(self, path, **more):
        answer = self.client.get(path, **more)
        found = re.search(r'name="token" value="(\w+)"', answer.text)
        self.token = found[1] if found else self.token
        return answer

    def post(self, path, fields=None, **more):
        if not self.token:
            self.get("/")
        return self.client.post(path, data={"token": self.token} | (fields or {}), **more)

    def record(self, **changed):
        return self.post("/", ENTRY | changed)


@pytest.fixture
def place(tmp_path):
    return str(tmp_path / "shop.db")


@pytest.fixture
def door(place):
    return Door(Shop(place=place, names=frozenset({NAME})))


@pytest.fixture
def picture():
    from PIL import Image

    out = io.BytesIO()
    Image.new("RGB", (320, 200), "sienna").save(out, "JPEG")
    return out.getvalue()


@pytest.fixture
def entry():
    return dict(ENTRY)


@pytest.fixture
def opened():
    return lambda place, **more: Door(Shop(place=place, names=frozenset({NAME}), **more))
