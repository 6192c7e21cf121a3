"""Published counting forms that no screen shows: independent comparisons for the tests.

Nothing here is shared with the shipped code. Counts and seconds; z = 1.6448536 (95 %, one-sided).
Sources stand at each form: [seen] read in a copy, [mem] from memory, [own] derived.
"""

from __future__ import annotations

import math
from collections.abc import Callable

from scipy import optimize, stats

Z = float(stats.norm.ppf(0.95))


def currie(background_counts: float) -> dict[str, float]:
    """Critical level and detection limit in counts. Currie 1968 Table II [seen]."""
    root = Z * math.sqrt(background_counts)
    return {
        "LC_paired": math.sqrt(2) * root,
        "LD_paired": Z * Z + 2 * math.sqrt(2) * root,
        "LC_known": root,
        "LD_known": Z * Z + 2 * root,
    }


def lld_rate(background_rate: float, t_sample: float, t_background: float) -> float:
    """LLD as a rate: 2.71/ts + 3.29 sqrt(Rb/ts + Rb/tb). ANSI/AARST MS-PC-2015 p. 4 [seen]."""
    spread = math.sqrt(background_rate / t_sample + background_rate / t_background)
    return 2.71 / t_sample + 3.29 * spread


def mdc_271(background_counts: float, seconds: float, efficiency: float) -> float:
    """(2.71 + 4.65 sqrt(B))/(eps t): the form with 2.71 in place of 3. Currie form [seen]."""
    return (2.71 + 4.65 * math.sqrt(background_counts)) / (efficiency * seconds)


def marlap_a(background_counts: float, q: float) -> float:
    """S_C = z sqrt(N_B q (1 + q)), q = t_S/t_B. MARLAP eq. 20.48 [seen]."""
    return Z * math.sqrt(background_counts * q * (1 + q))


def marlap_c(background_counts: float, q: float) -> float:
    """MARLAP eq. 20.52; the term is q^2 [own]."""
    return Z * Z * q / 2 + Z * math.sqrt(Z * Z * q * q / 4 + background_counts * q * (1 + q))


def stapleton_sc(background_counts: float, q: float) -> float:
    """MARLAP eq. 20.54 with d = 0.4 [seen]."""
    spread = math.sqrt((background_counts + 0.4) * q * (1 + q))
    return 0.4 * (q - 1) + Z * Z / 4 * (1 + q) + Z * spread


def stapleton_sd(mean_background: float, q: float) -> float:
    """Minimum detectable net counts; ``mean_background`` in the sample's time. [own], Table 20.3"""
    return (2 * Z) ** 2 * (1 + q) / 4 + 2 * Z * math.sqrt(mean_background * (1 + q))


def marlap_sd(critical: float, mean_background: float, q: float) -> float:
    """S_C + z^2/2 + z sqrt(z^2/4 + S_C + R_B t_S (1 + q)). MARLAP eq. 20.73 [seen]."""
    return critical + Z * Z / 2 + Z * math.sqrt(Z * Z / 4 + critical + mean_background * (1 + q))


def exact_sd(critical: Callable[[float, float], float], mean_background: float, q: float) -> float:
    """The "true" columns of MARLAP Table 20.3: net counts missed in 5 % of exact trials. [own]"""
    mean_b = mean_background / q
    chances = [(n, float(stats.poisson.pmf(n, mean_b))) for n in range(_reach(mean_b))]
    cuts = [(math.floor(q * n + critical(n, q)), chance) for n, chance in chances]

    def missed(net: float) -> float:
        total = mean_background + net
        return sum(chance * float(stats.poisson.cdf(cut, total)) for cut, chance in cuts) - 0.05

    return float(optimize.brentq(missed, 1e-9, 200, xtol=1e-9))


def _reach(mean: float) -> int:
    return int(mean + 12 * math.sqrt(mean) + 20) if mean > 0 else 1


def conformance_probability(y: float, u: float, upper_limit: float) -> float:
    """Probability that the value is below an upper limit. JCGM 106:2012 [mem]."""
    return float(stats.norm.cdf((upper_limit - y) / u))


def mixture_limit(fractions: list[float], limits: list[float]) -> float:
    """Gross limit of a mixture, 1/sum(f/L). MARSSIM 4.3.4 [mem]."""
    return 1 / sum(f / limit for f, limit in zip(fractions, limits, strict=True))
