"""What a WSGI server loads: `service.wsgi:app`."""

from __future__ import annotations

import os

from service.app import create_app
from service.settings import settings_from

app = create_app(settings_from(os.environ))
