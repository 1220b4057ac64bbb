"""Values to figures and pages; nothing is computed here."""
