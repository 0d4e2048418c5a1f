"""Study and figures to documents."""

from moisturemap.report.compose import compose
from moisturemap.report.content import Content, Picture, Section
from moisturemap.report.material import Material, Supplement, report_stem
from moisturemap.report.options import PAPERS, ReportOptions
from moisturemap.report.pictures import photograph, photographs_of
from moisturemap.report.scan_sheet import scan_sheet, write_scan_sheet
from moisturemap.report.wording import UNITS
from moisturemap.report.write import SUFFIXES, write_report
from moisturemap.units import DATES

__all__ = [
    "DATES",
    "PAPERS",
    "SUFFIXES",
    "UNITS",
    "Content",
    "Material",
    "Picture",
    "ReportOptions",
    "Section",
    "Supplement",
    "compose",
    "photograph",
    "photographs_of",
    "report_stem",
    "scan_sheet",
    "write_report",
    "write_scan_sheet",
]
