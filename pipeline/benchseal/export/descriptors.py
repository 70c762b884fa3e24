"""Machine-readable descriptions of a delimited file, beside it: CSV on the Web, and a Data Package with Table Schema.

CSVW: W3C, Metadata Vocabulary for Tabular Data, 2015-12-17. Data Package, Table Dialect and Table Schema: version 2.0
of the Data Package standard (datapackage.org). Both are made from the profile alone, never from the rows.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from benchseal.export.cells import codec_of, form_of
from benchseal.export.own_lines import LINE_ENDS
from benchseal.records.canonical import digest
from benchseal.records.released import DAYS, WHOLE_NUMBERS

if TYPE_CHECKING:
    from benchseal.records.canonical import Json
    from benchseal.records.profile import Column, Profile

CSVW_ENDS: Final = "csv-metadata.json"
PACKAGE_ENDS: Final = "datapackage.json"
_KEY: Final = ("result_id", "revision")


def csvw(profile: Profile, name: str) -> dict[str, Json]:
    """``NAME.csv-metadata.json`` of the file called ``name``."""
    file = profile.file
    skipped = len(profile.opening_lines)
    table: dict[str, Json] = {
        "columns": [_csvw_column(column, place, profile) for place, column in enumerate(profile.columns, start=1)]
    }
    if key := _key(profile):
        table["primaryKey"] = [_name(column, place, profile) for place, column in key]
    return {
        "@context": "http://www.w3.org/ns/csvw",
        "url": name,
        "dc:title": profile.title,
        "dialect": {
            "encoding": file.encoding,
            "delimiter": file.separator,
            "lineTerminators": [LINE_ENDS[file.line_end]],
            "quoteChar": None if file.quote == "never" else '"',
            "doubleQuote": True,
            "header": bool(file.header_line),
            "headerRowCount": int(bool(file.header_line)),
            "skipRows": skipped,
            "trim": False,
        },
        "tableSchema": table,
    }


def data_package(profile: Profile, name: str, data: bytes) -> dict[str, Json]:
    """``NAME.datapackage.json`` of the file called ``name`` with the bytes ``data``."""
    file = profile.file
    skipped = len(profile.opening_lines)
    dialect: dict[str, Json] = {
        "delimiter": file.separator,
        "lineTerminator": LINE_ENDS[file.line_end],
        "doubleQuote": True,
        "skipInitialSpace": False,
        "header": bool(file.header_line),
    }
    if file.quote != "never":
        dialect["quoteChar"] = '"'
    if file.header_line:
        dialect["headerRows"] = [skipped + 1]
    if skipped:
        dialect["commentRows"] = list(range(1, skipped + 1))
    schema: dict[str, Json] = {
        "fields": [_schema_field(column, profile) for column in profile.columns],
        "missingValues": [""],
    }
    if key := _key(profile):
        schema["primaryKey"] = [column.title for _, column in key]
    return {
        "$schema": "https://datapackage.org/profiles/2.0/datapackage.json",
        "name": name.partition(".")[0].lower(),
        "title": profile.title,
        "resources": [
            {
                "name": "results",
                "path": name,
                "format": "csv",
                "mediatype": "text/csv",
                "encoding": codec_of(file),
                "bytes": len(data),
                "hash": f"sha256:{digest(data)}",
                "dialect": dialect,
                "schema": schema,
            }
        ],
    }


def _key(profile: Profile) -> list[tuple[int, Column]]:
    """The columns that say which revision of which result a row is, with their places.

    Empty where one is not there, or a row has several results.
    """
    if profile.one_row_per != "result":
        return []
    found = {column.field: (place, column) for place, column in enumerate(profile.columns, start=1) if not column.map}
    return [found[field] for field in _KEY] if set(_KEY) <= set(found) else []


def _csvw_column(column: Column, place: int, profile: Profile) -> Json:
    return {
        "titles": column.title,
        "name": _name(column, place, profile),
        "datatype": _csvw_type(column, profile),
        "null": "",
        "required": _never_empty(column),
    }


def _name(column: Column, place: int, profile: Profile) -> str:
    """The canonical field; with the column's place where that would not be one column's alone."""
    repeated = [one.field for one in profile.columns].count(column.field) > 1
    return f"{column.field or 'fixed'}_{place}" if repeated or not column.field else column.field


def _csvw_type(column: Column, profile: Profile) -> Json:
    match _type(column):
        case "integer":
            return "integer"
        case "number":
            return {"base": "decimal", "format": {"decimalChar": profile.file.decimal_mark}}
        case "datetime":
            return "dateTimeStamp"
        case other:
            return other


def _schema_field(column: Column, profile: Profile) -> Json:
    made: dict[str, Json] = {"name": column.title, "type": _type(column)}
    if made["type"] == "number" and profile.file.decimal_mark == ",":
        made["decimalChar"] = ","
    if column.field:
        made["description"] = f"canonical field {column.field}{column.of and f' of {column.of}'}"
    if _never_empty(column):
        made["constraints"] = {"required": True}
    return made


def _type(column: Column) -> str:
    """``integer``, ``number``, ``date``, ``datetime`` or ``string``: what every cell of the column fits.

    Dates in a form of the receiver's are text here: the two standards write forms in ways of their own, and few
    readers know more than the plain ones.
    """
    form = form_of(column)
    if column.missing_text or form in {"text", "flag"} or column.date_form:
        return "string"
    if form == "number":
        return "integer" if column.field in WHOLE_NUMBERS else "number"
    return "date" if column.field in DAYS else "datetime"


def _never_empty(column: Column) -> bool:
    return bool(column.fixed) if not column.field else column.when_missing != "empty" and "" not in column.map.values()
