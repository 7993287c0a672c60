"""Put the pattern library and the demo project into the wheel."""

from typing import Any

from hatchling.builders.hooks.plugin.interface import BuildHookInterface


class DataHook(BuildHookInterface[Any]):
    """Adds data to the standard wheel; an editable install reads the checkout."""

    def initialize(self, version: str, build_data: dict[str, Any]) -> None:
        """Name the files to include."""
        if version == "standard":
            build_data["force_include"][f"{self.root}/patterns"] = "keyer/_patterns"
            build_data["force_include"][f"{self.root}/examples/demo"] = "keyer/_demo"
