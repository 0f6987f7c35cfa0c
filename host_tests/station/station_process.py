"""A station that only listens, in a process of its own, so that it can be killed: port, path of the store."""

import sys
import time

from potreeve_tools.station import broker, store
from potreeve_tools.station.ingest import Ingest

if __name__ == "__main__":
    port, path = sys.argv[1:]
    listening = Ingest(broker.Address("127.0.0.1", int(port)), lambda: store.open_store(path))
    listening.start()
    while True:
        time.sleep(1)
