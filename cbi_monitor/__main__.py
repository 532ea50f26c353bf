"""``python -m cbi_monitor``."""

import sys

from cbi_monitor.cli import main

sys.exit(main())
