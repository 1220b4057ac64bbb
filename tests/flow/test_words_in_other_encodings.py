"""What a terminal of another encoding hands over: named in the answer, never a reason to fail while answering."""

import os
import subprocess
import sys


def test_a_file_of_another_encoding_is_named_and_refused(tmp_path):
    words = [sys.executable.encode(), b"-m", b"jointlab", b"import", b"caf\xe9.csv"]
    done = subprocess.run(words, cwd=tmp_path, capture_output=True, check=False, env=os.environ | {"LANG": "C.UTF-8"})
    assert done.returncode == 2
    assert b"'caf\\\\udce9.csv'" in done.stderr or b"caf\\udce9.csv" in done.stderr
    assert b"Traceback" not in done.stderr
