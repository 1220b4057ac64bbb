from __future__ import annotations

from jointlab.publish.drawing import BLUE
from jointlab.publish.inlined import inlined

DRAWING = f"""<?xml version="1.0"?>
<!DOCTYPE svg PUBLIC "-//W3C//DTD SVG 1.1//EN" "http://www.w3.org/Graphics/SVG/1.1/DTD/svg11.dtd">
<svg xmlns:xlink="http://www.w3.org/1999/xlink" width="100pt" height="50pt" viewBox="0 0 100 50" version="1.1">
<metadata><x/></metadata><defs><style type="text/css">*{{a: b}}</style><path id="m1" d="M 0 0"/></defs>
<!-- a name -->
<use xlink:href="#m1" style="fill: {BLUE}"/><g clip-path="url(#m1)"/>
</svg>""".encode()


def test_a_drawing_is_set_into_a_page_without_sizes_comments_or_outside_names() -> None:
    text = inlined(DRAWING, name="fig")
    assert text.startswith('<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 100 50" aria-hidden="true"')
    for gone in ("<?xml", "DOCTYPE", "metadata", "<style", "<!--", "xlink", "100pt"):
        assert gone not in text


def test_names_and_references_within_a_drawing_are_made_its_own() -> None:
    text = inlined(DRAWING, name="fig")
    assert '<path id="fig-m1"' in text
    assert 'href="#fig-m1"' in text
    assert "url(#fig-m1)" in text


def test_colours_become_the_pages() -> None:
    assert "fill: var(--blue)" in inlined(DRAWING, name="fig")
