"""A thread that does a piece of work again and again, with a store of its own, and says what keeps it from that."""

import threading


class Steady:
    """Work beside the station's own: a subclass's turn(store) does a piece and gives True when more is to do at once,
    says(fault) puts what it raised in words.

    make_store(): opens the store. name: of the thread. look_s: time between two looks when nothing is to do; again_s:
    after a failure; limit_s: the longest a turn may take. trouble: "" while all goes well.
    """

    def __init__(self, make_store, name, look_s, again_s, limit_s):
        self.trouble = ""
        self._make_store = make_store
        self._look_s, self._again_s, self._limit_s = look_s, again_s, limit_s
        self._stop = threading.Event()
        self._thread = threading.Thread(target=self._run, name=name)

    def start(self):
        """Begin."""
        self._thread.start()

    def stop(self):
        """End; what was not done is done after the next start."""
        self._stop.set()
        self._thread.join(self._limit_s + 5)

    def _run(self):
        store = None
        while not self._stop.is_set():
            try:
                store = store or self._make_store()
                if not self.turn(store):
                    self._stop.wait(self._look_s)
                self.trouble = ""
            except Exception as fault:  # whatever it is, the next turn may go well
                self.trouble = self.says(fault)
                # A store that failed is opened anew.
                if store:
                    store.close()
                store = None
                self._stop.wait(self._again_s)
        if store:
            store.close()
