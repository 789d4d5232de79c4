# SPDX-License-Identifier: AGPL-3.0-or-later
"""Faults planted in real books: pages of the corpus replaced by damaged twins of themselves."""
