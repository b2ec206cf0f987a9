import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).parents[2]
ASK = "import pipelines.cli, os; print(os.environ['OPENBLAS_NUM_THREADS'])"


def test_the_program_settles_one_thread_for_linear_algebra_before_numpy_is_loaded(monkeypatch):
    monkeypatch.delenv("OPENBLAS_NUM_THREADS", raising=False)
    assert _said(f"import sys; import pipelines; assert 'numpy' not in sys.modules; {ASK}") == "1\n"
    monkeypatch.setenv("OPENBLAS_NUM_THREADS", "3")
    assert _said(ASK) == "3\n"


def _said(code):
    return subprocess.run([sys.executable, "-c", code], cwd=ROOT, capture_output=True, text=True, check=True).stdout
