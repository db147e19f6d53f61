"""Times of repeated runs."""

import statistics
import time


def quartiles(run, runs):
    """First quartile, median and third quartile in ms, after one run that does
    not count."""
    run()
    times = []
    for _ in range(runs):
        start = time.perf_counter()
        run()
        times.append(1e3 * (time.perf_counter() - start))
    return statistics.quantiles(times, n=4)
