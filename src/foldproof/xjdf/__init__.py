# SPDX-License-Identifier: AGPL-3.0-or-later
"""The whole job as XJDF, the open job ticket."""
