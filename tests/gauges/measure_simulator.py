"""How long a minute of simulated start takes: python tests/gauges/measure_simulator.py."""

import statistics
import time

from callout.gauges.simulator import Machine, run

run(Machine(), seconds=1.0)
took = []
for _ in range(7):
    began = time.process_time()
    run(Machine(), seconds=60.0)
    took.append(time.process_time() - began)
print(f"60 s at 100 Hz: median {statistics.median(took):.2f} s of processor, worst {max(took):.2f}")
