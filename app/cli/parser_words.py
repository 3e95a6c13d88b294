"""What Python's own parser of the command line says, so that the catalogues have it too.

argparse looks its sentences up by :mod:`gettext`, in the domain that a program binds.
"""

from __future__ import annotations

import gettext

from analysis.language import CATALOGUES, DOMAIN, later

WORDS = (
    later("usage: "),
    later("positional arguments"),
    later("options"),
    later("show this help message and exit"),
    later("%(prog)s: error: %(message)s\n"),
    later("argument %(argument_name)s: %(message)s"),
    later("the following arguments are required: %s"),
    later("unrecognized arguments: %s"),
    later("expected one argument"),
    later("ignored explicit argument %r"),
    later("ambiguous option: %(option)s could match %(matches)s"),
    later("invalid choice: %(value)r (choose from %(choices)s)"),
    later("invalid %(type)s value: %(value)r"),
)


def speak() -> None:
    """Have the parser speak the user's language from now on."""
    gettext.bindtextdomain(DOMAIN, str(CATALOGUES))
    gettext.textdomain(DOMAIN)
