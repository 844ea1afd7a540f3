"""The pages of the invented conference, answered from a real store."""

from datetime import date

import pytest
from django.test import Client

from onthree.demo.conference import DEMO_TODAY, conference_records


@pytest.fixture
def demo_today(settings: pytest.FixtureRequest) -> date:
    settings.TODAY = DEMO_TODAY  # type: ignore[attr-defined]
    return DEMO_TODAY


@pytest.fixture
def conference(db: None, demo_today: date, client: Client) -> Client:
    """A client of the pages with the invented conference in the store, judged on the demo's day."""
    from onthree.store.records import save_records

    save_records(conference_records(), by="test")
    return client
