# SPDX-License-Identifier: GPL-3.0-or-later
"""Three people's tasks in Debian's chromium."""
import shutil
import sys

if not shutil.which("chromedriver") or not shutil.which("chromium"):
    print("not tried: there is no chromium with its driver here")
    sys.exit(77)
