# SPDX-License-Identifier: GPL-3.0-or-later
"""The tasks of test_browser.py in Debian's Firefox (firefox-esr), once through. Not part of the suite: it takes minutes, and 80 MB to
install.  BLOOMCOAT=build/release/bin/bloomcoat EXAMPLES=examples [PICTURES=DIR] python3 tests/desk/in_firefox.py [InABrowser.TEST...]"""
import unittest

import browser
import firefox

browser.Browser = firefox.Firefox

from test_browser import InABrowser  # noqa: E402: of the browser above

CHROMIUMS = "test_a_screen_reader_is_given_all_of_it"  # by a command of Chromium's own
setattr(InABrowser, CHROMIUMS, None)

if __name__ == "__main__":
    unittest.main(verbosity=2)
