"""The list of settings with their values and reasons."""

from __future__ import annotations

from collections.abc import Mapping

from rich.console import Group, RenderableType
from rich.text import Text

from drillbox.practice.settings import Preference, Value
from drillbox.screen import style
from drillbox.screen.look import Hanging


def setting_list(
    preferences: Mapping[str, Preference], values: Mapping[str, Value]
) -> RenderableType:
    """List settings, each with its value, its default where that differs, and its reason.

    Where it is one of a few names, these stand below.
    """
    lines: list[RenderableType] = []
    for name, preference in preferences.items():
        value = values[name]
        other = "" if value == preference.default else f" (default {_shown(preference.default)})"
        lines.append(
            Text.assemble((f"{name} = {_shown(value)}", style.TITLE), (other, style.QUIET))
        )
        lines.append(Hanging("    ", preference.reason))
        if preference.choices:
            lines.append(Hanging("    ", f"one of {', '.join(preference.choices)}", style.QUIET))
    return Group(*lines)


def _shown(value: Value) -> str:
    return str(value) if value != "" else "(empty)"
