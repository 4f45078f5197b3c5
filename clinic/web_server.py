"""How gunicorn serves, in the container and behind `manage.py serve`; its own names.

Numbers are project assumptions: a clinic's few people at once, and a restart that
lets every save under way end.
"""

threads = 4
# Seconds: a request may take this long before its process is replaced.
timeout = 120
# Seconds: on SIGTERM no new request is taken, and those under way may end.
graceful_timeout = 30
loglevel = "warning"
