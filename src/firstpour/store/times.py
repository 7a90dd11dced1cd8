"""Moments as the store keeps them: UTC, ISO 8601, so that a clock is right after a restart and in another zone."""

from datetime import UTC, datetime


def kept(at: datetime) -> str:
    """The moment as text; one without a zone is taken as the time of day here.

    >>> kept(datetime(2026, 3, 2, 14, 30, tzinfo=UTC))
    '2026-03-02T14:30:00+00:00'
    """
    return at.astimezone(UTC).isoformat()


def moment(words: str) -> datetime:
    """The moment of a text, in UTC.

    >>> moment("2026-03-02T14:30:00+00:00")
    datetime.datetime(2026, 3, 2, 14, 30, tzinfo=datetime.timezone.utc)
    """
    return datetime.fromisoformat(words).astimezone(UTC)
