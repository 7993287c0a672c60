"""Put the pattern library into the wheel as `keyer/_patterns`."""

from typing import Any

from hatchling.builders.hooks.plugin.interface import BuildHookInterface


class PatternsHook(BuildHookInterface[Any]):
    """Adds `patterns/` to the standard wheel; an editable install reads the checkout."""

    def initialize(self, version: str, build_data: dict[str, Any]) -> None:
        """Name the files to include."""
        if version == "standard":
            build_data["force_include"][f"{self.root}/patterns"] = "keyer/_patterns"
