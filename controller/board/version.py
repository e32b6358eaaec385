"""The firmware's version; pyproject.toml has the same."""

VERSION = "0.1.0"
