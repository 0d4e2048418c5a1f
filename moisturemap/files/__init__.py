"""Foreign formats, one file each."""

from moisturemap.files.acclimation import read_acclimation
from moisturemap.files.equipment import read_equipment
from moisturemap.files.logger import LoggerPlace, logger_channels, read_logger
from moisturemap.files.machine_log import read_machine_logs
from moisturemap.files.plan import read_plan
from moisturemap.files.plan_layers import PlanLayer, PlanLayers, plan_layers
from moisturemap.files.plan_picture import PICTURE_ENDINGS, PlanPicture, read_plan_picture
from moisturemap.files.reading_options import ReadingOptions
from moisturemap.files.readings import read_readings
from moisturemap.files.record_table import RecordOptions
from moisturemap.files.setting import nearest
from moisturemap.files.survey_toml import FileEntry, SurveyFile, VisitFiles, read_survey_toml
from moisturemap.files.test_records import read_tests

__all__ = [
    "PICTURE_ENDINGS",
    "FileEntry",
    "LoggerPlace",
    "PlanLayer",
    "PlanLayers",
    "PlanPicture",
    "ReadingOptions",
    "RecordOptions",
    "SurveyFile",
    "VisitFiles",
    "nearest",
    "plan_layers",
    "read_acclimation",
    "read_equipment",
    "logger_channels",
    "read_logger",
    "read_machine_logs",
    "read_plan",
    "read_plan_picture",
    "read_readings",
    "read_survey_toml",
    "read_tests",
]
