"""Settings for the whole run."""

import os

from hypothesis import settings

settings.register_profile("house", deadline=None, max_examples=60)
settings.register_profile("ci", deadline=None, max_examples=60, derandomize=True)
settings.load_profile("ci" if os.environ.get("CI") else "house")

collect_ignore = ["office_driver.py"]  # runs in the office's own Python, which has uno
