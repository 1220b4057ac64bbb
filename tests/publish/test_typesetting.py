from __future__ import annotations

import io

from pypdf import PdfReader

from jointlab.publish.typesetting import Paper, typeset


def test_the_document_carries_the_date_given_and_no_other(made) -> None:
    values = {"paper": str(Paper.A4), "title": "t", "colour": "#1d7452", "answer": "a", "margin": "m", "alt": "x"}
    values |= {"limits": [], "before": [], "ends": [], "scope": "s", "cautions": [], "code": False}
    values |= {"decided": "d", "program": "p"}
    drawing = b'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 9 9"><path d="M 0 0 L 9 9"/></svg>'
    made_twice = [
        typeset("card.typ", values=values, drawings={"mount.svg": drawing}, dated_on="2026-03-01") for _ in range(2)
    ]
    assert made_twice[0] == made_twice[1]
    created = PdfReader(io.BytesIO(made_twice[0])).metadata.creation_date
    assert created is None or created.date().isoformat() == "2026-03-01"
