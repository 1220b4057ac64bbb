"""A module a page, each with a ``router``; ``application.PAGES`` lists them."""
