"""From sentences to bursts, one an epoch, and the instant of each."""

import collections
import datetime
import statistics

from .sentences import ORDER


class Burst:
    def __init__(self, arrived, count):
        self.arrived, self.count = arrived, count  # of the first byte
        self.said = []
        self.tod = None

    def add(self, s):
        self.said.append(s)
        if s.tod is not None and (self.tod is None or s.kind == "GGA"):
            self.tod = s.tod

    def has(self, s):
        return any(o.kind == s.kind and (set(o.values) & set(s.values) or not s.values) for o in self.said)

    def values(self):
        out = {}
        for s in self.said:
            for k, x in s.values.items():
                rank = ORDER.get(k, [])
                if k in out and s.kind in rank and out[k][1] in rank and rank.index(s.kind) > rank.index(out[k][1]):
                    continue
                out[k] = (x, s.kind)
        return {k: x for k, (x, _) in out.items()}


class Bursts:
    """Puts sentences into bursts, one an epoch.

    A burst ends with an idle line, with another time, with a sentence it already has, and with the sentence that leads.
    Which one leads is known from the one that came first after the line was idle, or first of all: if that carried a
    time, then any that does, else its own kind.
    """

    def __init__(self, emit):
        self.emit, self.now, self.leader, self.timed_lead, self.doubtful = emit, None, None, False, False
        self.starts = collections.deque(maxlen=8)
        self.tails = collections.deque(maxlen=5)
        self.tied = 0  # how often messages of one time had one number; -1 once they had not

    def ties(self, b, s):
        """Whether a number that both carry tells that s is of another moment than b."""
        mine = getattr(s, "sid", None)
        if mine is None:
            return False
        others = [o for o in b.said if getattr(o, "sid", None) is not None]
        for o in others:
            if s.tod is not None and o.tod == s.tod and o.kind != s.kind and self.tied >= 0:
                self.tied = self.tied + 1 if o.sid == mine else -1
        return self.tied > 1 and bool(others) and all(o.sid != mine for o in others)

    def close(self):
        if self.now:
            self.tails.append(self.now.said[-1].kind)
            self.emit(self.now)
        self.now = None

    def unfinished(self):
        """Bursts have ended with another kind of sentence than the one that came last."""
        return self.now is not None and len(self.tails) >= 3 and self.now.said[-1].kind not in self.tails

    def idle(self):
        self.close()
        self.leader, self.doubtful = None, False

    def add(self, s, arrived, count):
        if self.doubtful and s.tod is not None:  # the stream began somewhere within a burst
            self.idle()
        b = self.now
        if b is not None:
            other = self.ties(b, s) or s.tod is not None and b.tod is not None and not close_by(s.tod, b.tod)
            again = b.has(s) and not (s.tod is not None and s.tod == b.tod)
            leads = b.tod is None and s.tod is not None if self.timed_lead else s.kind == self.leader
            if other or again or leads:
                self.close()
        if self.now is None:
            self.now = Burst(arrived, count)
            self.starts.append(arrived)
            if self.leader is None:
                self.leader, self.timed_lead = s.kind, s.tod is not None
        self.now.add(s)

    def spacing(self):
        if len(self.starts) < 3:
            return None
        t = list(self.starts)
        return statistics.median(b - a for a, b in zip(t, t[1:]))


DAY = 86400 * 1000000


def close_by(a, b):
    d = abs(a - b) % DAY
    return min(d, DAY - d) <= 5000


def host_time(seconds):
    """The computer's clock as UTC."""
    return datetime.datetime.fromtimestamp(seconds, datetime.timezone.utc).replace(tzinfo=None)


class Stamps:
    """Gives bursts their instant: the time they carry, on the day that RMC or ZDA says.

    The day is carried on over midnight. Bursts that come before the first date wait for it; only after ten seconds
    the computer's own date is taken. A burst that carries no time is stamped by the computer's clock since the last
    one that did.
    """

    PATIENCE = 10.0

    def __init__(self, live, byte_time, emit):
        self.live, self.byte_time, self.emit = live, byte_time, emit
        self.last = None      # (utc, arrived, count)
        self.untrusted = None
        self.untimed = False  # this stream carries no time
        self.queue = collections.deque()

    def put(self, b):
        known = self.last is not None
        if b.tod is not None:
            voided = b.values().get("fix") == "none"
            for s in b.said:
                if s.date is None or s.tod is None:
                    continue
                at = datetime.datetime.combine(s.date, datetime.time()) + datetime.timedelta(microseconds=s.tod)
                if s.trusted and not voided:
                    self.last, known = (self.on_day(b.tod, at), b.arrived, b.count), True
                else:
                    self.untrusted = (at, b.arrived)
        self.queue.append(b)
        self.work(b.arrived if known else None)

    def on_day(self, tod, about):
        start = datetime.datetime.combine(about.date(), datetime.time())
        days = [start + datetime.timedelta(days=k, microseconds=tod) for k in (-1, 0, 1)]
        return min(days, key=lambda t: abs(t - about))

    def expected(self, ref, arrived):
        return ref[0] + datetime.timedelta(seconds=arrived - ref[1]) if self.live else ref[0]

    def work(self, now=None, final=False):
        while self.queue:
            b = self.queue[0]
            waited = self.live and now is not None and now - b.arrived > self.PATIENCE
            late = final or waited or len(self.queue) > 2000
            if self.last is None and not (self.untimed and b.tod is None) and not late:
                return
            self.queue.popleft()
            self.stamp(b)

    def stamp(self, b):
        if b.tod is None:
            if self.last is None and self.live:
                self.untimed = True
                at = host_time(b.arrived)
            elif self.live and abs(b.arrived - self.last[1]) >= abs(b.count - self.last[2]) * self.byte_time / 2:
                at = self.expected(self.last, b.arrived)
            else:
                return  # bytes that came faster than the line: nobody knows when this was
            self.emit(b, at)
            return
        if self.last is not None:
            at = self.on_day(b.tod, self.expected(self.last, b.arrived))
        elif self.untrusted is not None:
            at = self.on_day(b.tod, self.expected(self.untrusted, b.arrived))
        else:
            at = self.on_day(b.tod, host_time(b.arrived))
        self.last, self.untimed = (at, b.arrived, b.count), False
        self.emit(b, at)
