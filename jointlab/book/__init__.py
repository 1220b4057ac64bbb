"""What is kept (the shop book): schema, migrations, history, backup."""
