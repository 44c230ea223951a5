"""What a WSGI server loads: `service.wsgi:app`.

Kernels are compiled here, before the server forks, so that no request waits for them; they are kept in the folder
that NUMBA_CACHE_DIR names, where there is one.
"""

from __future__ import annotations

import os

from service.app import create_app
from service.engine.placement.kernels import enable_cache
from service.engine.warm import warm_up
from service.settings import settings_from

app = create_app(settings_from(os.environ))

if folder := os.environ.get("NUMBA_CACHE_DIR", ""):
    enable_cache(folder)
warm_up()
