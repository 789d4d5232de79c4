# SPDX-License-Identifier: AGPL-3.0-or-later
"""What the checks say of twelve real books, and what a person saw who looked at the pages."""
