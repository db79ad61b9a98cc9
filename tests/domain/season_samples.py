"""One invented site per hemisphere and one tower, for the tests of seasons and calendars."""

from decimal import Decimal

from seasonlog.domain.register import Register, Site, Tower


def site(**changes: object) -> Site:
    fields = {
        "id": "LAKE", "name": "Lakeside Hospital", "latitude_deg": Decimal("41.9"), "longitude_deg": Decimal("-87.6"),
        "wind_shelter": "open", "time_zone": "America/Chicago", "first_freeze": "10-24", "last_freeze": "04-20",
        "access": "Gate 4, key at the desk", "emergency_contact": "Night desk, extension 4",
        "roof_note": "open edge; ice",
    }  # fmt: skip
    return Site(**fields | changes)


def southern_site(**changes: object) -> Site:
    fields = {
        "id": "HILL", "name": "Hill Dairy", "latitude_deg": Decimal("-42.9"), "longitude_deg": Decimal("147.3"),
        "time_zone": "Australia/Hobart", "first_freeze": "05-20", "last_freeze": "09-30", "units": "si",
    }  # fmt: skip
    return site(**fields | changes)


def tower(**changes: object) -> Tower:
    fields = {
        "id": "HOS-1", "site": "LAKE", "name": "North tower", "winter": "heated_basin", "kind": "open",
        "pump_on_tower": False, "cells": 1, "drained_for_cleaning": True,
    }  # fmt: skip
    return Tower(**fields | changes)


def register(a_site: Site, *towers: Tower) -> Register:
    return Register(sites={a_site.id: a_site}, towers={each.id: each for each in towers})
