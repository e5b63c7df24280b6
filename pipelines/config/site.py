"""How a site writes its tables: its headings, its words, its attributes, its files."""

from __future__ import annotations

from typing import TYPE_CHECKING

from pipelines.config.files import day_first_of, layouts_of, limits_of
from pipelines.config.section import is_texts
from pipelines.readers.contract import TABLES
from pipelines.readers.names import did_you_mean, fold
from pipelines.readers.site import Attribute, Site

if TYPE_CHECKING:
    from collections.abc import Mapping

    from pipelines.config.section import Section


def site_of(top: Section) -> Site:
    """Read and check what the whole file says of the site's own ways of writing."""
    attributes = _attributes(top.section("attributes"))
    dates = top.section("dates")
    day_first = day_first_of(dates)
    dates.close()
    return Site(
        columns=_columns(top.section("columns"), attributes),
        words=_words(top.section("words")),
        attributes=attributes,
        layouts=layouts_of(top.section("files"), attributes),
        day_first=day_first,
        limits=limits_of(top.section("intake")),
    )


def _columns(section: Section, attributes: Mapping[str, Attribute]) -> dict[str, dict[str, str]]:
    mapped: dict[str, dict[str, str]] = {}
    for table, own in section.sections().items():
        if table not in TABLES:
            section.unknown(table, TABLES, "table")
            continue
        mapped[table] = {heading: own.text(heading, "") for heading in own.values}
        known = {*TABLES[table].headings, *(attributes if table == "tastings" else ())}
        for heading, column in mapped[table].items():
            if column and column not in known:
                own.fault(heading, f"a column of {table}{did_you_mean(column, known)}")
    return mapped


def _words(section: Section) -> dict[str, list[str]]:
    known = {choice for t in TABLES.values() for c in t.columns for choice in c.choices}
    known |= {"yes", "no"}
    mapped: dict[str, list[str]] = {}
    for word in section.values:
        if word not in known:
            section.unknown(word, known, "word")
        else:
            mapped[word] = section.checked(word, [], "a list of texts", is_texts)
    return mapped


def _attributes(section: Section) -> dict[str, Attribute]:
    attributes = {}
    taken = {fold(heading) for heading in TABLES["tastings"].headings}
    for name, own in section.sections().items():
        if fold(name) in taken:
            section.faults.append(f"{own.path}: {name} is a column of tastings already")
        attribute = Attribute(
            low=own.number("low", 0.0, -1e6, 1e6),
            high=own.number("high", 10.0, -1e6, 1e6),
            worse=own.choice("worse", "high", ("high", "low")),
            cut_off=own.number("cut_off", 4.0, -1e6, 1e6),
        )
        own.close()
        section.faults.extend(
            f"{own.path}.{key} is missing, expected {what}"
            for key, what in (
                ("low", "the lowest score"),
                ("high", "the highest score"),
                ("worse", '"high" or "low"'),
                ("cut_off", "the score that ends the beer's life"),
            )
            if key not in own.values
        )
        if not attribute.low < attribute.high:
            section.faults.append(f"{own.path} has low not below high")
        elif not attribute.low <= attribute.cut_off <= attribute.high:
            section.faults.append(f"{own.path} has cut_off outside low to high")
        attributes[name] = attribute
    return attributes
