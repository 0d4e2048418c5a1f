"""What was measured: readings, tests, instruments, visits."""

from moisturemap.survey.clean import (
    CLEANING_FLAGS,
    CONTESTED,
    DOUBTED,
    USED_FLAGS,
    CleanReadings,
)
from moisturemap.survey.cleaning import (
    ABOVE_SCALE,
    BELOW_A_STEP,
    BETWEEN_STEPS,
    OFF_STEP,
    SCANNING_KINDS,
    clean_readings,
)
from moisturemap.survey.counting import SURENESS, CountRule, counts_for, packaged_counts
from moisturemap.survey.country import UK, US, Country, country_of
from moisturemap.survey.disagreement import contradicted
from moisturemap.survey.dry_reference import DryReference, agreeing
from moisturemap.survey.given_names import given_names
from moisturemap.survey.instrument import INSTRUMENT_KINDS, Instrument, InstrumentCheck
from moisturemap.survey.issued_hole import IssuedHole
from moisturemap.survey.location import SAME_PLACE_M
from moisturemap.survey.logger import LOGGER_PLACES, LoggerSeries, MachineEntry, MachineLog
from moisturemap.survey.survey import (
    DETAILS,
    EQUIPMENT_COLUMNS,
    READING_COLUMNS,
    TEST_COLUMNS,
    Limit,
    ScanSettings,
    Survey,
)
from moisturemap.survey.tables import survey_tables
from moisturemap.survey.test_record import TEST_FIELDS, TEST_METHODS, TestField, TestMethod
from moisturemap.survey.usable import why_unusable
from moisturemap.survey.visit import AmbientReading, Visit

__all__ = [
    "ABOVE_SCALE",
    "BELOW_A_STEP",
    "BETWEEN_STEPS",
    "OFF_STEP",
    "CLEANING_FLAGS",
    "CONTESTED",
    "DOUBTED",
    "DETAILS",
    "EQUIPMENT_COLUMNS",
    "INSTRUMENT_KINDS",
    "LOGGER_PLACES",
    "READING_COLUMNS",
    "SAME_PLACE_M",
    "SCANNING_KINDS",
    "SURENESS",
    "TEST_COLUMNS",
    "TEST_FIELDS",
    "TEST_METHODS",
    "USED_FLAGS",
    "UK",
    "US",
    "AmbientReading",
    "CleanReadings",
    "Country",
    "CountRule",
    "DryReference",
    "Instrument",
    "InstrumentCheck",
    "IssuedHole",
    "Limit",
    "LoggerSeries",
    "MachineEntry",
    "MachineLog",
    "ScanSettings",
    "Survey",
    "TestField",
    "TestMethod",
    "Visit",
    "agreeing",
    "clean_readings",
    "contradicted",
    "country_of",
    "counts_for",
    "given_names",
    "packaged_counts",
    "survey_tables",
    "why_unusable",
]
