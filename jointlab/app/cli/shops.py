"""Other shops' pulls brought into the book, said in plain text or as JSON."""

from __future__ import annotations

from pathlib import Path

from jointlab.app.cli.application import show_json


def import_of_shop(
    book: str | None, file: Path, shop: str, *, decimal: str, by: str | None = None, as_json: bool = False
) -> None:
    """Store a file's pulls as another shop's, and say what that means for a verdict."""
    from jointlab.app import other_shops
    from jointlab.app.cli.flags import decimal_of
    from jointlab.app.cli.marking import measured

    brought = other_shops.import_of_shop(book, file, shop, by=by, decimal=decimal_of(decimal), watching=measured)
    receipt = brought.receipt
    if as_json:
        from jointlab.app.documents import ImportDocument

        show_json(ImportDocument(stored=receipt.stored, skipped=receipt.skipped))
        return
    from jointlab.app.cli.receipts import show_import

    show_import(receipt, brought.findings, brought.asked, made_by=f" of {shop}")
    print("They tell what to expect. No mount passes on them, and they are not published as yours.")


def preview_of_shop(book: str | None, file: Path, shop: str, *, decimal: str, as_json: bool = False) -> None:
    """Say what another shop's file would bring, and store nothing."""
    from jointlab.app import other_shops
    from jointlab.app.cli.flags import decimal_of
    from jointlab.app.cli.marking import measured
    from jointlab.app.cli.receipts import show_preview

    found = other_shops.preview_of_shop(book, file, shop, decimal=decimal_of(decimal), watching=measured)
    show_preview(*found, as_json=as_json)
