"""How books of earlier schemas become books of the present one: one step a file, oldest first, frozen once released."""
