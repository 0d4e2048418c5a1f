"""Disturbed readings and the things that disturb them."""

from moisturemap.anomalies.anomalies import ANOMALY_COLUMNS, ANOMALY_KINDS, Anomalies

__all__ = ["ANOMALY_COLUMNS", "ANOMALY_KINDS", "Anomalies"]
