"""The pages, a file per noun."""

from snugfast.web.pages import (
    cars,
    catch_up,
    first_start,
    health,
    home,
    journal,
    kept,
    packs,
    parts,
    runs,
    settings,
    sheets,
    sources,
)

ROUTERS = (
    health.pages,
    first_start.pages,
    home.pages,
    cars.pages,
    parts.pages,
    packs.pages,
    runs.pages,
    catch_up.pages,
    sheets.pages,
    journal.pages,
    settings.pages,
    sources.pages,
    kept.pages,
)
