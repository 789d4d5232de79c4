# SPDX-License-Identifier: AGPL-3.0-or-later
"""What goes round a book, for the benches; the make-up reckons with it too, so it is settled in the room of the job."""

from __future__ import annotations

from foldproof.job.covering import cover_kind as cover_kind
from foldproof.job.covering import is_cased as is_cased
