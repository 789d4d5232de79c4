# SPDX-License-Identifier: AGPL-3.0-or-later
"""A supplied cover or jacket, held against the book that it is for."""
