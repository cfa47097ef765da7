"""callout: an offline spoken-checklist assistant for the hangar."""

import os

__version__ = "0.1.0"

# onnxruntime (1.29 and later) sends usage data and keeps an identifier on disk unless
# told not to before it is loaded. callout uses no network at all.
os.environ["ORT_DISABLE_TELEMETRY"] = "1"

# numpy's OpenBLAS starts a thread for each core, and they wait for one another by spinning.
# Products here are small: by one thread the recorded day takes the same time and half the
# processor. It is read when numpy is loaded; who sets it himself is left alone.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
