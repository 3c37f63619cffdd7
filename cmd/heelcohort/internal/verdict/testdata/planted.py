# Writes planted.csv: printed cells that differ from the results of
# fixture_test.go for a reason that is known, with the kind of explanation that
# must be found. Limits are from statsmodels and SciPy or by the formulas here.
#   /usr/bin/python3 planted.py > planted.csv     (statsmodels, scipy of Debian)
import csv, sys
from math import sqrt, exp, log
from scipy.stats import norm, chi2, poisson, beta
from scipy.optimize import brentq
from statsmodels.stats.proportion import proportion_confint as pc
import statsmodels
import scipy

children = {"normal": (268, 254, 54), "pronated": (144, 135, 43)}
children[""] = tuple(a + b for a, b in zip(children["normal"], children["pronated"]))
heels = {"normal": (531, 76), "pronated": (283, 69)}
heels[""] = tuple(a + b for a, b in zip(heels["normal"], heels["pronated"]))
sports = {"football": (118, 65190.5), "swimming": (31, 41772.0)}
sports[""] = tuple(a + b for a, b in zip(sports["football"], sports["swimming"]))
out = csv.writer(sys.stdout, lineterminator="\n")
out.writerow(["kind", "printed", "bindings"])
Z = {.90: norm.ppf(.95), .95: norm.ppf(.975), .99: norm.ppf(.995)}

def g(name, level): return f"/{name}={level}" if level else ""
def plant(kind, printed, *b): out.writerow([kind, printed, " | ".join(b)])
def pct(level, events, n, d, kind, answer="true"):  # n (%)
    base = f"table-1/values{g('arch', level)}/pain:{answer}/"
    plant(kind, f"{events} ({100*events/n:.{d}f}%)", base + "count;value;", base + "percent;value;")
def prop(kind, level, v, lo, hi, d=3, f=1, sign="", study="children"):
    a = f"{study}/proportions{g('arch', level)}/pain/proportion"
    t = "100" if sign == "" and f == 100 else ""
    plant(kind, f"{f*v:.{d}f}{sign} ({f*lo:.{d}f}{sign} to {f*hi:.{d}f}{sign})", *[f"{a};{p};{t}" for p in ("value", "lower", "upper")])
def rate(kind, level, v, lo, hi, d=2):
    a = f"rates/rates{g('sport', level)}/incidence rate"
    plant(kind, f"{v:.{d}f} ({lo:.{d}f} to {hi:.{d}f})", *[f"{a};{p};" for p in ("value", "lower", "upper")])
def ratio(kind, a, v, lo, hi, d=2):
    plant(kind, f"{v:.{d}f} ({lo:.{d}f} to {hi:.{d}f})", *[f"{a};{p};" for p in ("value", "lower", "upper")])

# Denominators.
for level in ("", "normal", "pronated"):
    size, n, events = children[level]
    pct(level, events, size, 1, "another handling of missing values")
for level, other in (("normal", "pronated"), ("pronated", "normal")):
    pct(level, children[level][2], children[other][1], 1, "the percentage of another column or row")
    pct(level, children[level][2], children[""][2], 1, "the percentage of another column or row")
pct("normal", 54, 389, 1, "the percentage of another column or row")
pct("normal", 54, 412, 1, "another denominator")
pct("pronated", 43, 412, 1, "another denominator")
pct("pronated", 92, 268, 1, "another denominator", "false")
for level in ("football", "swimming"):
    d, pt = sports[level]; total = sports[""][1]
    lo, hi = chi2.ppf(.025, 2*d)/2, chi2.ppf(.975, 2*d+2)/2
    rate("another denominator", level, 1e3*d/total, 1e3*lo/total, 1e3*hi/total)
# Levels.
for level in ("", "normal", "pronated"):
    _, n, x = children[level]
    for c in (.90, .99):
        prop("another confidence level", level, x/n, *pc(x, n, 1-c, "wilson"))
for level in ("", "swimming"):
    d, pt = sports[level]
    rate("another confidence level", level, 1e3*d/pt, 1e3*chi2.ppf(.05, 2*d)/2/pt, 1e3*chi2.ppf(.95, 2*d+2)/2/pt)
b, se = .6418, .2537
for c in (.90, .99):
    ratio("another confidence level", "arch/adjusted/arch:pronated/hazard ratio", exp(b), exp(b-Z[c]*se), exp(b+Z[c]*se))
# Methods, with as many decimals, three at least, as it takes for limits to be two
# units apart: one unit may be taken for digits cut off.
def decimals(*pairs): return next(d for d in range(3, 9) if all(abs(a-b)*10**d > 2 for a, b in pairs))
for level in ("", "normal", "pronated"):
    _, n, x = children[level]
    for m in ("beta", "normal", "agresti_coull", "jeffreys"):
        lo, hi = pc(x, n, .05, m)
        wl, wh = pc(x, n, .05, "wilson")
        d = decimals((lo, wl), (hi, wh))
        prop("another method of limits", level, x/n, lo, hi, d)
def midp(d):
    lo = brentq(lambda m: poisson.sf(d, m) + poisson.pmf(d, m)/2 - .025, .01, d)
    return lo, brentq(lambda m: poisson.cdf(d-1, m) + poisson.pmf(d, m)/2 - .025, d, 3*d+10)
def byar(d): return d*(1-1/(9*d)-Z[.95]/(3*sqrt(d)))**3, (d+1)*(1-1/(9*(d+1))+Z[.95]/(3*sqrt(d+1)))**3
for level in ("football", "swimming"):
    d, pt = sports[level]
    for f in (midp, byar):
        lo, hi = f(d)
        own = chi2.ppf(.025, 2*d)/2, chi2.ppf(.975, 2*d+2)/2
        rate("another method of limits", level, 1e3*d/pt, 1e3*lo/pt, 1e3*hi/pt, decimals((1e3*lo/pt, 1e3*own[0]/pt), (1e3*hi/pt, 1e3*own[1]/pt)))
a1, n1, a0, n0 = 43, 135, 54, 254
p1, p0 = a1/n1, a0/n0
w = Z[.95]*sqrt(p1*(1-p1)/n1 + p0*(1-p0)/n0)
ratio("another method of limits", "arch/crude/arch:pronated/risk difference", p1-p0, p1-p0-w, p1-p0+w, 3)
(d1, t1), (d0, t0) = sports["football"], sports["swimming"]
rr, s = d1/t1/(d0/t0), sqrt(1/d1+1/d0)
ratio("another method of limits", "rates/ratios/sport:football vs swimming/rate ratio", rr, rr*exp(-Z[.95]*s), rr*exp(Z[.95]*s))
# Units of analysis.
for level in ("", "normal", "pronated"):
    n, x = heels[level]
    prop("another unit of analysis", level, x/n, *pc(x, n, .05, "wilson"), d=1, f=100, sign="%")
# Limits swapped, references swapped, logarithms.
for level in ("normal", "pronated"):
    _, n, x = children[level]
    lo, hi = pc(x, n, .05, "wilson")
    prop("limits swapped", level, x/n, hi, lo, 2)
ratio("limits swapped", "arch/adjusted/arch:pronated/hazard ratio", exp(b), exp(b+Z[.95]*se), exp(b-Z[.95]*se))
odds = a1*(n0-a0)/(a0*(n1-a1)); so = sqrt(1/a1+1/(n1-a1)+1/a0+1/(n0-a0))
ratio("the reference swapped", "arch/crude/arch:pronated/odds ratio", 1/odds, exp(-Z[.95]*so)/odds, exp(Z[.95]*so)/odds)
ratio("the reference swapped", "arch/adjusted/arch:pronated/hazard ratio", exp(-b), exp(-b-Z[.95]*se), exp(-b+Z[.95]*se))
ratio("the reference swapped", "arch/adjusted/arch:pronated/coefficient", -b, -b-Z[.95]*se, -b+Z[.95]*se)
ratio("the logarithm of a ratio", "arch/adjusted/arch:pronated/hazard ratio", b, b-Z[.95]*se, b+Z[.95]*se)
ratio("the logarithm of a ratio", "arch/adjusted/arch:pronated/coefficient", exp(b), exp(b-Z[.95]*se), exp(b+Z[.95]*se))
# Scales.
for level in ("", "pronated"):
    _, n, x = children[level]
    lo, hi = pc(x, n, .05, "wilson")
    plant("percent against proportion", f"{100*x/n:.1f} ({100*lo:.1f} to {100*hi:.1f})", *[f"children/proportions{g('arch', level)}/pain/proportion;{p};" for p in ("value", "lower", "upper")])
    base = f"table-1/values{g('arch', level)}/pain:true/"
    plant("percent against proportion", f"{x} ({x/n:.3f})", base + "count;value;", base + "percent;value;")
    prop("the complement", level, 1-x/n, 1-hi, 1-lo)
for level in ("football", "swimming"):
    d, pt = sports[level]
    lo, hi = chi2.ppf(.025, 2*d)/2, chi2.ppf(.975, 2*d+2)/2
    rate("person-time in another unit", level, 1e2*d/pt, 1e2*lo/pt, 1e2*hi/pt, 3)
    rate("person-time in another unit", level, 1e4*d/pt, 1e4*lo/pt, 1e4*hi/pt, 1)
# Standard errors, neighbours.
for level, m, sd in (("", 10.3223, 2.1739), ("pronated", 10.4975, 2.0987)):
    base = f"table-1/values{g('arch', level)}/age/"
    plant("a standard error against a standard deviation", f"{m:.2f} ({sd/sqrt(children[level][0]):.2f})", base + "mean;value;", base + "standard deviation;value;")
plant("another column or row", "10.23 (2.21)", "table-1/values/arch=pronated/age/mean;value;", "table-1/values/arch=pronated/age/standard deviation;value;")
d, pt = sports["swimming"]
rate("another column or row", "football", 1e3*d/pt, 1e3*chi2.ppf(.025, 2*d)/2/pt, 1e3*chi2.ppf(.975, 2*d+2)/2/pt)
# Rounding: kinds of rounding stand for verdicts. 43/135 = 31.8518..., 54/254 = 21.2598..., 54/389 etc. by hand.
base = "table-1/values/arch=pronated/pain:true/"
plant("rounding: truncated", "43 (31.8%)", base + "count;value;", base + "percent;value;")
plant("rounding: truncated", "54 (21.25)", *[f"table-1/values/arch=normal/pain:true/{m};value;" for m in ("count", "percent")])
print(f"# statsmodels {statsmodels.__version__}, scipy {scipy.__version__}", file=sys.stderr)
