"""fieldvoice: a spoken field assistant for a family's maple season.

Nothing of it reports anything to anybody. What runs the networks would, from its first moment on
and into the cache folder too (onnxruntime from 1.29 on), unless these are set before it is loaded.
"""

import os

os.environ["ORT_DISABLE_TELEMETRY"] = "1"
os.environ["HF_HUB_DISABLE_TELEMETRY"] = "1"
