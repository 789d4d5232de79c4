# SPDX-License-Identifier: AGPL-3.0-or-later
"""Thickness, sheets, plates, ink, time, thread, weight: what a plan takes, reckoned once for every bench."""
