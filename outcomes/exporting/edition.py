"""Which edition of the export wrote a file; it rises when columns or rules change."""

APP_VERSION = "1"
