"""Copies a checkout without what was put together or remembered in it: ``python copy_sources.py CHECKOUT COPY``."""

import shutil
import sys

if sys.version_info < (3, 11):  # noqa: UP036 - whatever python3 is there runs it
    sys.exit(f"python3 is {sys.version.split()[0]}; Python 3.11 or newer is needed")
LEFT_OUT = (".git", ".venv", "build", "dist", "*.egg-info", "__pycache__", ".*_cache", ".hypothesis")
shutil.copytree(sys.argv[1], sys.argv[2], ignore=shutil.ignore_patterns(*LEFT_OUT))
