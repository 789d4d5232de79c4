# SPDX-License-Identifier: AGPL-3.0-or-later
"""Hands on other machines: Dask workers that do what a worker process does here.

``client.py`` opens a cluster and holds it to our versions, ``hands.py`` is the pool of page workers, ``parcels.py``
packs a job so that its files may lie elsewhere, ``station.py`` is what runs on a Dask worker.  ``distributed`` is
imported where it is used: without a cluster it need not be installed.
"""
