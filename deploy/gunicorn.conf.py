"""Server settings that depend on where it runs; `evendrop serve` sets address, processes and preloading."""

import tempfile
from pathlib import Path

# Workers tell that they live through a file: in memory where possible, as a slow disk looks like death.
_memory = Path("/dev/shm")
worker_tmp_dir = str(_memory) if _memory.is_dir() else tempfile.gettempdir()

# The largest document takes a few seconds; a worker that is silent for longer is replaced.
timeout = 60
graceful_timeout = 30
keepalive = 5

# A worker is renewed now and then, not all at once.
max_requests = 2000
max_requests_jitter = 400

# The headers in front of this service are trusted only from this machine.
forwarded_allow_ips = "127.0.0.1,::1"
