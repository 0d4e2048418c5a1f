"""What was measured: readings, tests, instruments, visits."""

from moisturemap.survey.clean import CLEANING_FLAGS, USED_FLAGS, CleanReadings
from moisturemap.survey.instrument import INSTRUMENT_KINDS, Instrument, InstrumentCheck
from moisturemap.survey.survey import (
    EQUIPMENT_COLUMNS,
    READING_COLUMNS,
    TEST_COLUMNS,
    Limit,
    ScanSettings,
    Survey,
)
from moisturemap.survey.visit import Visit

__all__ = [
    "CLEANING_FLAGS", "EQUIPMENT_COLUMNS", "INSTRUMENT_KINDS", "READING_COLUMNS", "TEST_COLUMNS",
    "USED_FLAGS", "CleanReadings", "Instrument", "InstrumentCheck", "Limit", "ScanSettings",
    "Survey", "Visit",
]  # fmt: skip
