"""The web door: pages for the bench and the desk, and the same answers as JSON under ``/api/``.

``make_app`` in ``application`` builds it; each page is a module of ``pages`` with a ``router``.
"""
