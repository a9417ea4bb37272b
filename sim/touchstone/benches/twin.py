"""Reads the files named on the command line with scikit-rf.

Prints a line for each: its name, the mean seconds on a core of several reads, the points, and S21 of
the last point, by which the bench sees that both read the same.
"""

import statistics
import sys
import time

import skrf

ROUNDS = 7

for path in sys.argv[1:]:
    seconds = []
    for _ in range(ROUNDS):
        start = time.process_time()
        network = skrf.Network(path)
        seconds.append(time.process_time() - start)
    s21 = network.s[-1, 1, 0]
    print(path, statistics.mean(seconds), len(network.f), float(s21.real), float(s21.imag))
