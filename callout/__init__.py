"""callout: an offline spoken-checklist assistant for the hangar."""

import os

__version__ = "0.1.0"

# onnxruntime (1.29 and later) sends usage data and keeps an identifier on disk unless
# told not to before it is loaded. callout uses no network at all.
os.environ["ORT_DISABLE_TELEMETRY"] = "1"
