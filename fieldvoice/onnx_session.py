"""Small networks run by onnxruntime on one core: detector, noise cleaner and voice."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from pathlib import Path

# Errors are told, warnings are not.
_ERRORS = 3


def on_one_core(file: Path | str, *, keeps_memory: bool) -> Any:
    """Return the session of the network in ``file``.

    ``keeps_memory`` tells whether it may keep what its last input needed for the next one: quicker
    where all are of one length, and wasted where they are not.

    Raises:
        ImportError: there is no onnxruntime, which comes with the voice hibari.
    """
    import onnxruntime

    # The variable set in ``fieldvoice`` is not heeded on Windows, nor after the runtime was loaded.
    if hasattr(onnxruntime, "disable_telemetry_events"):
        onnxruntime.disable_telemetry_events()
    options = onnxruntime.SessionOptions()
    options.intra_op_num_threads = options.inter_op_num_threads = 1
    options.enable_cpu_mem_arena = options.enable_mem_pattern = keeps_memory
    options.log_severity_level = _ERRORS
    return onnxruntime.InferenceSession(str(file), options, providers=["CPUExecutionProvider"])
