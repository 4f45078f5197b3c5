"""Numbers that carry their source: files of them, and those a site may set."""
