# SPDX-License-Identifier: AGPL-3.0-or-later
"""Cases, paper covers, jackets: sizes, drawings, stamping dies."""
