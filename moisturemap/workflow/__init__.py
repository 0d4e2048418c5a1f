"""The main path, one file per use case."""

from moisturemap.workflow.study import Study

__all__ = ["Study"]
