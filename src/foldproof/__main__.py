# SPDX-License-Identifier: AGPL-3.0-or-later
"""``python -m foldproof``."""

from foldproof.cli import main

if __name__ == "__main__":
    main()
