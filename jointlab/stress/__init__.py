"""Load on a joint to stress at the glue line, with its uncertainty."""
