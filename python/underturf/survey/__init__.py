"""Surveys brought in: files of other people's formats read by well-kept libraries, and one site made of them.

Each reader (`csv_files`, `spreadsheets`, `gpx_files`, `vectors`, `drawings`, `tape_notes`) hands on what is in a file, as it is
there (`observed`). The rest is the same for all: codes and values (`codes`, `mapping`, `keys`, `values`, `things`), places
(`projection`, `placing`), the same thing met twice (`merging`), the document (`assembling`), the report.
"""

from underturf.survey.reading import read_survey
from underturf.survey.report import ReportRow, SurveyReport
from underturf.survey.survey import Survey

__all__ = ["ReportRow", "Survey", "SurveyReport", "read_survey"]
