"""A least travel that no plan of a season can go below: what a searched plan is held against and cannot move.

Whoever works W minutes in a shift of S minutes and goes to a site drives at least there and back, D; and W is at most
what is left, S - D, down to the step that all work is a multiple of. So each minute of work at the site costs at least
D / (S - D) minutes of driving, from the nearest base. Summed over all work. Due dates, qualifications, the number of
people, the order of two visits of one tower and the ways between sites are left aside: all of them only add travel.

Reasoning as in M. Haimovich and A. H. G. Rinnooy Kan, Bounds and heuristics for capacitated routing problems, Math.
Oper. Res. 10 (1985) 527; from memory.
"""

import math

from seasonlog.planning.model import Instance
from seasonlog.planning.travel import Travel


def least_travel_minutes(instance: Instance) -> float:
    """Minutes on the road that every plan of all jobs needs at least.

    Args:
        instance: A season without given ways, all shifts alike.
    """
    to, bases = Travel(instance).minutes, {worker.base for worker in instance.workers}
    (shift,) = {worker.shift_minutes for worker in instance.workers}
    step = math.gcd(*(job.work_minutes for job in instance.jobs))
    total = 0.0
    for job in instance.jobs:
        there_and_back = min(to(base, job.site) + to(job.site, base) for base in bases)
        total += job.work_minutes * there_and_back / ((shift - there_and_back) // step * step)
    return total
