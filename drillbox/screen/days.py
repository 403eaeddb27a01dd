"""Days as a sentence or a row names them."""

from __future__ import annotations

from datetime import date

FAR = 60  # days ahead from which a date says more than a number of days


def date_text(day: date) -> str:
    """Return a day as a sentence names it: 15 Mar."""
    return f"{day.day} {day:%b}"


def days_off_text(day: date, today: date) -> str:
    """Return how far off a day is: in 5 days, tomorrow, today, has been."""
    away = (day - today).days
    if away < 0:
        return "has been"
    return "today" if away == 0 else "tomorrow" if away == 1 else f"in {away} days"


def due_text(day: date, today: date) -> str:
    """Return when what is due on a day is due: today where that is over, its date if it's far."""
    return days_off_text(max(day, today), today) if (day - today).days < FAR else day.isoformat()
