"""How often the player's ratings are the ones proposed from listening, in a line or two."""

from __future__ import annotations

from drillbox.practice.agreement import Agreement
from drillbox.screen.look import Look


def agreement_lines(found: Agreement, look: Look) -> list[str]:
    """Say how often ratings and proposals agree, and which way they differ."""
    share = f"{found.agreed / found.heard:.0%}"
    said = f"Heard {found.heard} attempts; you rated {found.agreed} of them as proposed ({share})"
    if 0 < found.lately < found.heard:
        said += f", in the last four weeks {found.agreed_lately} of {found.lately}"
    lines = [f"{said}."]
    differ = [
        f"{side} {'once' if count == 1 else f'{count} times'}"
        + (f", most in {key.text(ascii=look.ascii)}" if key else "")
        for side, count, key in (
            ("kinder", found.kinder, found.kindest),
            ("harder", found.harder, found.hardest),
        )
        if count
    ]
    if differ:
        lines.append(f"You rated yourself {'; '.join(differ)}.")
    return lines
