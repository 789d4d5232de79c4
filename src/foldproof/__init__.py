# SPDX-License-Identifier: AGPL-3.0-or-later
"""From a book's PDF to press sheets that are proved to fold into the book."""

__version__ = "0.1.0"
