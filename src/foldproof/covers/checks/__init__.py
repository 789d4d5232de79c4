# SPDX-License-Identifier: AGPL-3.0-or-later
"""One module a group of cover checks; the registry finds the ``CHECKS`` of each."""
