"""The second-measure window by dateutil: the same lines in and out as Window.java."""

import sys
from datetime import date

from dateutil.relativedelta import relativedelta

for line in sys.stdin:
    origin, day, from_months, from_days, to_months, to_days = line.split()
    origin, day = date.fromisoformat(origin), date.fromisoformat(day)
    start = origin + relativedelta(months=int(from_months), days=int(from_days))
    end = origin + relativedelta(months=int(to_months), days=int(to_days))
    position = "early" if day < start else "late" if day > end else "in"
    print(start.isoformat(), end.isoformat(), position)
