"""Addresses of the clinical pages; no name or number of a person is part of one."""

app_name = "outcomes"
urlpatterns: list = []  # type: ignore[type-arg]
