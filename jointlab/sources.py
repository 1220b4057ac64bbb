"""Every book, paper and standard from which jointlab calculates.

A constant or formula names its source by the key here; a page prints exactly the sources it used. ``standing`` says
how the value came to us: read in the source, read second-hand, recalled from memory, common practice of the trade, derived
here from mechanics, or engineering judgement (which the user can change).
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum


class Standing(StrEnum):
    """How a value came to us."""

    READ = "read in the source"
    SECOND_HAND = "read second-hand"
    MEMORY = "recalled from memory"
    PRACTICE = "common practice, no source"
    DERIVED = "derived from mechanics"
    JUDGEMENT = "judgement"


@dataclass(frozen=True, slots=True)
class Source:
    """A published source, or the honest name of having none."""

    key: str
    text: str
    standing: Standing


_SOURCES = (
    Source(
        "wood_handbook_5_6",
        "Wood Handbook, FPL-GTR-282 (2021), Table 5-6: coefficients of variation of clear wood",
        Standing.READ,
    ),
    Source(
        "wood_handbook_5_3b",
        "Wood Handbook, FPL-GTR-282 (2021), Table 5-3b: strength of clear wood at 12 % moisture",
        Standing.READ,
    ),
    Source(
        "gum",
        "JCGM 100:2008, Guide to the expression of uncertainty in measurement (first-order law; F.2.2.1 resolution)",
        Standing.MEMORY,
    ),
    Source("iso_6789", "ISO 6789: indicating torque wrenches above 10 N m, 4 % of the reading", Standing.SECOND_HAND),
    Source(
        "wood_handbook_1974",
        "Wood Handbook, edition of 1974: the row of eastern white pine",
        Standing.SECOND_HAND,
    ),
    Source(
        "wood_handbook_5_3",
        "Wood Handbook, FPL-GTR-282 (2021), eq. 5-3: strength against moisture between 12 % and green",
        Standing.MEMORY,
    ),
    Source(
        "wood_handbook_5_11",
        "Wood Handbook, FPL-GTR-282 (2021), Table 5-11: strength from specific gravity at 12 % moisture",
        Standing.MEMORY,
    ),
    Source(
        "wood_handbook_8",
        "Wood Handbook, FPL-GTR-282 (2021), chapter 8: withdrawal of wood screws, 15 700 G^2 D L in inches and lbf",
        Standing.MEMORY,
    ),
    Source(
        "ansi_a208_2",
        "ANSI A208.2-1994: screws in medium-density fibreboard, least of the grades",
        Standing.MEMORY,
    ),
    Source(
        "nds_2018", "National Design Specification for Wood Construction 2018, chapters 11 and 12", Standing.SECOND_HAND
    ),
    Source("kivimaa_koch", "Kivimaa 1950 and Koch 1972: cutting resistance of wood, 10 to 60 N/mm2", Standing.MEMORY),
    Source(
        "iskra_hernandez",
        "Iskra and Hernandez on sugar maple: the normal force of a cut changes sign",
        Standing.SECOND_HAND,
    ),
    Source(
        "iso_21940",
        "ISO 21940-11: balance grades of rigid rotors, permissible offset x angular speed = G [mm/s]",
        Standing.SECOND_HAND,
    ),
    Source("motor_pull_out", "Pull-out torque of induction motors, 2.5 of rated", Standing.MEMORY),
    Source(
        "lawless",
        "J. F. Lawless, Statistical Models and Methods for Lifetime Data (2nd ed., 2003): likelihood of censored data",
        Standing.MEMORY,
    ),
    Source(
        "aicc",
        "C. M. Hurvich and C.-L. Tsai, Biometrika 76 (1989) 297: Akaike's criterion corrected for small samples",
        Standing.MEMORY,
    ),
    Source(
        "lawless_1978",
        "J. F. Lawless, Technometrics 20 (1978) 355: exact inference for the Weibull given the ancillary statistics",
        Standing.MEMORY,
    ),
    Source(
        "meeker_hahn_escobar",
        "W. Q. Meeker, G. J. Hahn and L. A. Escobar, Statistical Intervals (2nd ed., 2017): tolerance bounds",
        Standing.MEMORY,
    ),
    Source(
        "stephens",
        "R. B. D'Agostino and M. A. Stephens, Goodness-of-Fit Techniques (1986), ch. 4: Anderson-Darling statistic",
        Standing.MEMORY,
    ),
    Source(
        "wald_1940",
        "A. Wald, Annals of Mathematical Statistics 11 (1940) 96: exact interval of a variance ratio in unequal groups",
        Standing.MEMORY,
    ),
    Source(
        "aldor_noiman",
        "S. Aldor-Noiman, L. D. Brown, A. Buja, W. Rolke and R. A. Stine, The American Statistician 67 (2013) 249: "
        "simultaneous limits of a distribution function with equal chances in the tails of every order statistic",
        Standing.MEMORY,
    ),
    Source(
        "constrained_bootstrap",
        "T. J. DiCiccio, M. A. Martin and S. E. Stern, Canadian Journal of Statistics 29 (2001) 67: likelihood ratio with "
        "its distribution simulated under the fit at the hypothesis; coverage measured in reports/strength",
        Standing.MEMORY,
    ),
    Source(
        "importance_sampling",
        "A. B. Owen and Y. Zhou, Journal of the American Statistical Association 95 (2000) 135: importance sampling from "
        "mixtures, with control variates",
        Standing.MEMORY,
    ),
    Source(
        "battery",
        "Simulation of this project over the populations of reports/strength/battery.md, with the script that makes it",
        Standing.JUDGEMENT,
    ),
    Source(
        "hanson_koopmans",
        "D. L. Hanson and L. H. Koopmans, Annals of Mathematical Statistics 35 (1964) 561; factors checked against "
        "CMH-17-1 (2017) Table 8.5.14",
        Standing.SECOND_HAND,
    ),
    Source(
        "shepherd_laframboise",
        "M. M. Shepherd and J. G. Laframboise, Mathematics of Computation 36 (1981) 249: series for exp(x^2) erfc(x)",
        Standing.MEMORY,
    ),
    Source("mechanics", "Elementary mechanics of bending, torsion and rotation", Standing.DERIVED),
    Source(
        "rolling_shear",
        "Wood Handbook ch. 5: rolling shear 18-28 % of shear along the grain; with Table 5-3b, .36-.85 of the tension",
        Standing.DERIVED,
    ),
    Source(
        "gougeon_laminate",
        "Gougeon, boatbuilding handbook, 5th ed., ch. 3: fir laminate, radial tension and rolling shear at two sizes",
        Standing.SECOND_HAND,
    ),
    Source(
        "gougeon_fatigue",
        "Gougeon, boatbuilding handbook, 5th ed.: strength left after 1e6 and 1e7 cycles of laminate",
        Standing.SECOND_HAND,
    ),
    Source(
        "barrett_1974",
        "Barrett (1974), Wood and Fiber: fir tension across the grain at 1 and 2000 cubic inches, exponent 0.2008",
        Standing.SECOND_HAND,
    ),
    Source(
        "madison_curve",
        "Wood (1951), FPL report 1916: strength of wood against duration of load",
        Standing.SECOND_HAND,
    ),
    Source(
        "wood_moisture",
        "Wood Handbook eq. 5-3, with 2.5 % (shear) and 1.5 % (tension) lost per 1 % moisture above 12 % as defaults",
        Standing.JUDGEMENT,
    ),
    Source(
        "apa_pds",
        "APA Panel Design Specification 4.5.2: panels keep 0.75 of their strength at 16 % moisture and above",
        Standing.SECOND_HAND,
    ),
    Source(
        "end_grain",
        "Wood Handbook ch. 10, Follrich et al. (2007): end-grain joints reach 25-30 % of what side grain reaches",
        Standing.SECOND_HAND,
    ),
    Source(
        "norris",
        "Quadratic interaction of tension and shear (Norris; Tsai-Hill without its cross term)",
        Standing.MEMORY,
    ),
    Source(
        "optional_stopping",
        "Bonferroni's inequality: shares of doubt spent over looks add up; unplanned looks spend halves of what is left",
        Standing.DERIVED,
    ),
    Source("success_run", "Success run: n survivors show coverage p at confidence 1 - p^n", Standing.DERIVED),
    Source(
        "stress_strength",
        "Interference of strength and load: P(break) is the chance that the load lies above the strength",
        Standing.DERIVED,
    ),
    Source("stated", "Set by the user for this mount", Standing.JUDGEMENT),
    Source("trade", "Common practice of woodturning", Standing.PRACTICE),
    Source("judgement", "Engineering judgement of this project; a default the user can change", Standing.JUDGEMENT),
    Source(
        "turnbull_1974",
        "Turnbull, B. W.: Nonparametric estimation of a survivorship function with doubly censored data. Journal of the American Statistical Association 69 (1974) 169",
        Standing.READ,
    ),
    Source(
        "kaplan_meier_1958",
        "Kaplan, E. L. and Meier, P.: Nonparametric estimation from incomplete observations. Journal of the American Statistical Association 53 (1958) 457",
        Standing.MEMORY,
    ),
    Source(
        "searle_unbalanced",
        "S. R. Searle, Linear Models for Unbalanced Data (1987): sums of squares of unbalanced layouts, known variance ratios",
        Standing.MEMORY,
    ),
    Source(
        "welch_1951",
        "B. L. Welch, Biometrika 38 (1951) 330: means of several groups with unequal spreads",
        Standing.MEMORY,
    ),
    Source(
        "kruskal_wallis",
        "W. H. Kruskal and W. A. Wallis, Journal of the American Statistical Association 47 (1952) 583: ranks of several groups",
        Standing.MEMORY,
    ),
    Source("nist_handbook", "NIST/SEMATECH e-Handbook of Statistical Methods, 1.3.5 and 7.4.7", Standing.SECOND_HAND),
    Source(
        "scholz_stephens",
        "F. W. Scholz and M. A. Stephens, Journal of the American Statistical Association 82 (1987) 918: k-sample Anderson-Darling tests",
        Standing.SECOND_HAND,
    ),
    Source(
        "games_howell", "P. A. Games and J. F. Howell, Journal of Educational Statistics 1 (1976) 113", Standing.MEMORY
    ),
    Source(
        "dunn",
        "O. J. Dunn, Technometrics 6 (1964) 241: rank sums of several groups; S. Holm's steps (1979)",
        Standing.MEMORY,
    ),
    Source(
        "dunnett",
        "C. W. Dunnett, Journal of the American Statistical Association 50 (1955) 1096: several treatments with a control",
        Standing.MEMORY,
    ),
    Source(
        "krishnamoorthy_lu_mathew",
        "K. Krishnamoorthy, F. Lu and T. Mathew, Computational Statistics and Data Analysis 51 (2007) 5731: parametric bootstrap for means with unequal spreads",
        Standing.MEMORY,
    ),
    Source(
        "interference",
        "Stress-strength interference: P(X > Y) of independent normals, lognormals and Weibulls",
        Standing.DERIVED,
    ),
    Source("mantel_1966", "N. Mantel, Cancer Chemotherapy Reports 50 (1966) 163: log-rank test", Standing.MEMORY),
    Source(
        "hodges_lehmann",
        "J. L. Hodges and E. L. Lehmann, Annals of Mathematical Statistics 34 (1963) 598: estimates from rank tests",
        Standing.MEMORY,
    ),
    Source(
        "freeman_halton",
        "G. H. Freeman and J. H. Halton, Biometrika 38 (1951) 141: exact test of tables of any size",
        Standing.MEMORY,
    ),
    Source("spearman", "C. Spearman (1904): correlation of ranks", Standing.MEMORY),
    Source("weakest_link", "W. Weibull (1939): strength of a chain of links, size exponent 1 / shape", Standing.MEMORY),
    Source(
        "burdick_graybill",
        "R. K. Burdick and F. A. Graybill, Confidence Intervals on Variance Components (1992): shares of variance",
        Standing.MEMORY,
    ),
    Source(
        "grubbs",
        "F. E. Grubbs, Technometrics 11 (1969) 1: outlying observations; NIST e-Handbook 1.3.5.17.1",
        Standing.SECOND_HAND,
    ),
    Source("noncentral_t_power", "Power of the t test from the noncentral t distribution", Standing.DERIVED),
    Source(
        "lee_nelder",
        "Y. Lee and J. A. Nelder, Journal of the Royal Statistical Society B 58 (1996) 619: likelihood with random terms",
        Standing.MEMORY,
    ),
    Source(
        "vangel_1992",
        "M. G. Vangel (1992) and CMH-17-1: tolerance bound of a one-way layout with random batches",
        Standing.MEMORY,
    ),
    Source(
        "dersimonian_laird",
        "R. DerSimonian and N. Laird, Controlled Clinical Trials 7 (1986) 177: mean of studies that differ, by moments",
        Standing.MEMORY,
    ),
    Source(
        "paule_mandel",
        "R. C. Paule and J. Mandel, Journal of Research NBS 87 (1982) 377: consensus mean, by moments iterated",
        Standing.MEMORY,
    ),
    Source(
        "reml",
        "H. D. Patterson and R. Thompson, Biometrika 58 (1971) 545: restricted maximum likelihood",
        Standing.MEMORY,
    ),
    Source(
        "hartung_knapp",
        "J. Hartung and G. Knapp, Statistics in Medicine 20 (2001) 3875: interval of a random-effects mean",
        Standing.MEMORY,
    ),
    Source(
        "higgins_i2",
        "J. P. T. Higgins and S. G. Thompson, Statistics in Medicine 21 (2002) 1539: share of variance between studies",
        Standing.MEMORY,
    ),
    Source(
        "generalised_pivot",
        "S. Weerahandi, Journal of the American Statistical Association 88 (1993) 899: generalised intervals",
        Standing.MEMORY,
    ),
)

SOURCES: dict[str, Source] = {source.key: source for source in _SOURCES}
"""Every source by its key."""


def cited(*keys: str) -> tuple[Source, ...]:
    """Sources of these keys, in the order given, each once.

    Raises
    ------
    KeyError
        A key is not in the list: a number would stand without a source.
    """
    return tuple(SOURCES[key] for key in dict.fromkeys(keys))
