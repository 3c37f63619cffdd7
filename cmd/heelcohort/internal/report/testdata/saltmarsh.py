#!/usr/bin/env python3
"""Writes saltmarsh.json: invented results of the invented Saltmarsh registry.

The counts are made up; limits of rates are exact Poisson limits and limits of
ratios Woolf limits, so that the numbers go together. Nothing here checks a
method: the file only has to look like what a run writes, with every shape
that a report must show.

Python 3 alone. Usage: python3 saltmarsh.py > saltmarsh.json
"""
import json
import math

INF = "unbounded"
KEYS = ("at estimate lower upper se level p statistic df n events censored person_time").split()
rows = []


def two_sided(z):
    """P of a standard normal deviate."""
    return math.erfc(abs(z) / math.sqrt(2))


def chi_square(x, df):
    """P of a chi-square with an even number of degrees of freedom."""
    return math.exp(-x / 2) * sum((x / 2) ** i / math.factorial(i) for i in range(df // 2))


def cumulative(k, mean):
    """P of at most k events."""
    return sum(math.exp(-mean + i * math.log(mean) - math.lgamma(i + 1)) for i in range(k + 1)) if mean else 1.0


def solve(f, low, high):
    """The zero of a falling function."""
    for _ in range(200):
        mid = (low + high) / 2
        low, high = (mid, high) if f(mid) > 0 else (low, mid)
    return low


def add(analysis, part, measure, groups=(), variable="", term="", unit="", method="", reason="", warnings=(), **numbers):
    row = {"id": "", "analysis": analysis, "part": part,
           "groups": [{"variable": v, "level": x} for v, x in groups],
           "variable": variable, "term": term, "measure": measure}
    row.update({k: numbers.get(k) for k in KEYS})
    row.update(unit=unit, method=method, reason=reason, warnings=list(warnings), line=LINE[analysis])
    rows.append(row)


LINE = {"table-1": 36, "table-2": 43, "table-3": 55, "figure-1": 64}
ARCH = [("supinated", "Supinated"), ("normal", "Normal"), ("pronated", "Pronated")]
BANDS = [("[6, 8)", "6 to 7"), ("[8, 10)", "8 to 9"), ("[10, 12)", "10 to 11"), ("[12, 14)", "12 to 13"),
         ("[14, 17)", "14 to 16")]
SPORTS = [("football", "Football"), ("gymnastics", "Gymnastics"),
          ("athletics", "Athletics – track & field, ≤ 3 sessions a week <or more in the season before enrolment>"),
          ("swimming", "Swimming")]

# table-1: all, then by arch
sizes = {"": 1190, "supinated": 118, "normal": 742, "pronated": 287}
by = lambda level: [("arch", level)] if level else []
for level, n in sizes.items():
    add("table-1", "size", "count", by(level), estimate=n)
NUMBERS = {"age_enrolled": ("years", {"": (10.42, 2.31, 8.5, 10.4, 12.3), "supinated": (11.6, 2.4, 9.8, 11.7, 13.6),
                                      "normal": (10.61, 2.28, 8.8, 10.6, 12.4), "pronated": (9.43, 2.02, 7.8, 9.3, 10.9)}),
           "fpi_total": ("points", {"": (3.62, 3.31, 1, 4, 6), "supinated": (-1.94, 1.02, -3, -2, -1),
                                    "normal": (2.88, 1.61, 2, 3, 4), "pronated": (7.31, 1.27, 6, 7, 8)})}
NAMES = ["mean", "standard deviation", "lower quartile", "median", "upper quartile"]
for name, (unit, values) in NUMBERS.items():
    for level, n in sizes.items():
        have = n - (43 if name == "fpi_total" and not level else 0)
        for measure, x in zip(NAMES, values[level]):
            add("table-1", "values", measure, by(level), variable=name, estimate=x, n=have, unit=unit)
        if name == "fpi_total":
            for code, k in (("NM", 31 if not level else 0), ("DK", 0)):
                add("table-1", "missing", "count", by(level), variable=name, term=code, estimate=k)
            add("table-1", "missing", "count", by(level), variable=name, term="", estimate=12 if not level else 0)
SEX = {"": (601, 586, 3), "supinated": (58, 60, 0), "normal": (371, 369, 2), "pronated": (150, 137, 0)}
for level, (f, m, refused) in SEX.items():
    for term, k in (("female", f), ("male", m)):
        add("table-1", "values", "count", by(level), variable="sex", term=term, estimate=k, n=f + m)
        add("table-1", "values", "percent", by(level), variable="sex", term=term, estimate=100 * k / (f + m), n=f + m, events=k)
    add("table-1", "missing", "count", by(level), variable="sex", term="RF", estimate=refused)
SPORT = {"": (612, 301, 276, 1), "supinated": (50, 33, 35, 0), "normal": (389, 185, 168, 0), "pronated": (151, 72, 63, 1)}
for level, ks in SPORT.items():
    for (term, _), k in zip(SPORTS, ks):
        add("table-1", "values", "count", by(level), variable="main_sport", term=term, estimate=k, n=sum(ks))
        add("table-1", "values", "percent", by(level), variable="main_sport", term=term, estimate=100 * k / sum(ks), n=sum(ks), events=k)


# table-2: rates by current age and sport
def poisson(k, t, alpha=.05):
    lower = solve(lambda m: cumulative(k - 1, m) - (1 - alpha / 2), 0, 1000) / t if k else 0.0
    return k / t, lower, solve(lambda m: cumulative(k, m) - alpha / 2, 0, 1000) / t


EVENTS = [[9, 5, 3, 0], [31, 14, 8, 2], [58, 21, 15, 3], [41, 9, 11, 1], [11, 3, 2, 0]]
HOURS = [[12310.5, 7015.25, 5120.75, 4011], [21877.5, 9902, 8011.25, 6120.5], [30114, 11087.5, 10411, 7320.25],
         [24018.75, 7514, 8117.5, 6011.5], [15277, 3510.25, 4018, 2214.75]]
HEADS = [[141, 83, 70, 55], [233, 121, 104, 80], [311, 133, 128, 91], [262, 92, 101, 74], [177, 44, 52, 31]]


def rate(groups, cells):
    k = sum(EVENTS[a][s] for a, s in cells)
    t = sum(HOURS[a][s] for a, s in cells) / 1000
    n = sum(HEADS[a][s] for a, s in cells)
    e, lo, hi = poisson(k, t)
    add("table-2", "rates", "incidence rate", groups, estimate=e, lower=lo, upper=hi, level=.95, n=n, events=k,
        person_time=t * 1000, unit="per 1,000 hours", method="exact Poisson",
        warnings=["fewer than 5 events"] if 0 < k < 5 else [])


A, S = range(len(BANDS)), range(len(SPORTS))
rate([], [(a, s) for a in A for s in S])
for a in A:
    rate([("age_now", BANDS[a][0])], [(a, s) for s in S])
for s in S:
    rate([("sport", SPORTS[s][0])], [(a, s) for a in A])
for a in A:
    for s in S:
        rate([("age_now", BANDS[a][0]), ("sport", SPORTS[s][0])], [(a, s)])


def rate_ratio(groups, s, ages):
    k1, k0 = sum(EVENTS[a][s] for a in ages), sum(EVENTS[a][3] for a in ages)
    t1, t0 = sum(HOURS[a][s] for a in ages), sum(HOURS[a][3] for a in ages)
    term = SPORTS[s][0] + " vs swimming"
    if k0 == 0:
        p = (t1 / (t1 + t0)) ** k1
        lo = .025 ** (1 / k1)
        add("table-2", "ratios", "rate ratio", groups, variable="sport", term=term, estimate=INF,
            lower=lo / (1 - lo) * t0 / t1, upper=INF, level=.95, p=p, events=k1 + k0, method="exact conditional",
            reason="no events in the reference")
        return
    r = (k1 / t1) / (k0 / t0)
    se = math.sqrt(1 / k1 + 1 / k0)
    add("table-2", "ratios", "rate ratio", groups, variable="sport", term=term, estimate=r, lower=r * math.exp(-1.959964 * se),
        upper=r * math.exp(1.959964 * se), se=se, level=.95, p=two_sided(math.log(r) / se), events=k1 + k0,
        method="Wald on the log scale")


for s in range(3):
    rate_ratio([], s, A)
for a in A:
    for s in range(3):
        rate_ratio([("age_now", BANDS[a][0])], s, [a])
for variable, term, b, se in (("age_now", "[8, 10)", .61, .27), ("age_now", "[10, 12)", 1.02, .26), ("age_now", "[12, 14)", .83, .27),
                              ("age_now", "[14, 17)", -.04, .36), ("sport", "football", 1.31, .42),
                              ("sport", "gymnastics", 1.2, .43), ("sport", "athletics", .94, .45)):
    common = dict(variable=variable, term=term, se=se, level=.95, p=two_sided(b / se), method="Poisson regression, Wald")
    add("table-2", "model", "coefficient", estimate=b, lower=b - 1.959964 * se, upper=b + 1.959964 * se, **common)
    add("table-2", "model", "rate ratio", estimate=math.exp(b), lower=math.exp(b - 1.959964 * se), upper=math.exp(b + 1.959964 * se),
        **common)
add("table-2", "model", "dispersion", estimate=1.08, df=12, n=20)
add("table-2", "model", "deviance", estimate=14.27, df=12, n=20)

# table-3: any episode by arch
TWO = {"supinated": (12, 118), "normal": (103, 742), "pronated": (74, 287)}
for level, (k, n) in TWO.items():
    e = k / n
    add("table-3", "counts", "risk", variable="arch", term=level, estimate=e, n=n, events=k)
for level in ("supinated", "pronated"):
    k, n = TWO[level]
    k0, n0 = TWO["normal"]
    odds = k / (n - k) / (k0 / (n0 - k0))
    se = math.sqrt(1 / k + 1 / (n - k) + 1 / k0 + 1 / (n0 - k0))
    common = dict(variable="arch", term=level, level=.95, n=n + n0, events=k + k0)
    add("table-3", "crude", "odds ratio", estimate=odds, lower=odds * math.exp(-1.959964 * se), upper=odds * math.exp(1.959964 * se),
        se=se, p=two_sided(math.log(odds) / se), method="Woolf", **common)
    risk = k / n / (k0 / n0)
    se = math.sqrt(1 / k - 1 / n + 1 / k0 - 1 / n0)
    add("table-3", "crude", "risk ratio", estimate=risk, lower=risk * math.exp(-1.959964 * se), upper=risk * math.exp(1.959964 * se),
        se=se, p=two_sided(math.log(risk) / se), method="Wald on the log scale", **common)
    d = k / n - k0 / n0
    se = math.sqrt(k / n * (1 - k / n) / n + k0 / n0 * (1 - k0 / n0) / n0)
    add("table-3", "crude", "risk difference", estimate=d, lower=d - 1.959964 * se, upper=d + 1.959964 * se, se=se,
        p=two_sided(d / se), method="Wald", **common)
table = [[k, n - k] for k, n in TWO.values()]
share = sum(k for k, _ in table) / 1147
chi = sum((k - (k + rest) * share) ** 2 / ((k + rest) * share * (1 - share)) for k, rest in table)
add("table-3", "tests", "chi-square", statistic=chi, df=2, p=chi_square(chi, 2), n=1147)
add("table-3", "tests", "Fisher exact test", reason="the table is too large for exact enumeration", n=1147)
for variable, term, b, se in (("arch", "supinated", -.31, .33), ("arch", "pronated", .66, .18), ("age_enrolled", "", -.012, .036),
                              ("sex", "male", .21, .17)):
    common = dict(variable=variable, term=term, se=se, level=.95, p=two_sided(b / se), method="logistic regression, Wald")
    add("table-3", "adjusted", "odds ratio", estimate=math.exp(b), lower=math.exp(b - 1.959964 * se),
        upper=math.exp(b + 1.959964 * se), **common)
add("table-3", "adjusted", "odds ratio", variable="<script>alert(1)</script><b>", term="", level=.95,
    reason="separation: a coefficient has no finite estimate", method="logistic regression, Wald")
add("table-3", "adjusted", "log likelihood", estimate=-487.231, n=1144, events=189)
add("table-3", "adjusted", "likelihood ratio statistic", statistic=21.84, df=4, p=chi_square(21.84, 4), estimate=21.84)

# figure-1: time to match return
GROUPS = {"supinated": (14, 12, 2, 10.9, (38, 30.5, 49)), "normal": (131, 116, 15, 98.4, (41, 37, 45)),
          "pronated": (97, 71, 26, 89.7, (None, 52, None))}
AT = {"supinated": (.714, .286, 0.0), "normal": (.771, .298, .069), "pronated": (.897, .619, .515)}
for level, (n, k, c, e, (med, lo, hi)) in GROUPS.items():
    g = [("arch", level)]
    add("figure-1", "size", "rows", g, estimate=n, events=k, censored=c)
    add("figure-1", "quantile", "median time", g, estimate=med, lower=lo, upper=hi, level=.95, unit="days",
        method="log-log", reason="" if med else "the curve does not come down to one half: not reached")
    add("figure-1", "expected", "expected events", g, estimate=e, events=k)
    for t, s in zip((28, 56, 84), AT[level]):
        se = math.sqrt(s * (1 - s) / n)
        last = s == 0
        add("figure-1", "at", "survival", g, at=t, estimate=s, lower=None if last else max(0, s - 1.96 * se),
            upper=None if last else min(1, s + 1.96 * se), level=.95, n=max(1, round(n * s)), unit="days", method="log-log",
            reason="no limits: the last child at risk had the event" if last else "",
            warnings=["fewer than 5 at risk"] if n * s < 5 else [])
    left, gone = n, 0
    for i, t in enumerate((0, 28, 56, 84, 112, 140, 168)):
        done = round(k * (1 - math.exp(-t / 45)))
        cens = round(c * t / 168)
        add("figure-1", "risk-table", "at risk", g, at=t, estimate=n - done - cens, n=n - done - cens, events=done, censored=cens)
        if t:
            add("figure-1", "curve", "survival", g, at=t, estimate=math.exp(-t / 45), lower=math.exp(-t / 38), upper=math.exp(-t / 53),
                se=.05, level=.95, n=n - done - cens, events=1, censored=0)
add("figure-1", "tests", "log-rank", statistic=19.4, df=2, p=chi_square(19.4, 2), n=242)
for term, b, se in (("supinated", -.11, .31), ("pronated", -.41, .15)):
    common = dict(variable="arch", term=term, se=se, level=.95, p=two_sided(b / se), method="proportional hazards, robust")
    add("figure-1", "model", "coefficient", estimate=b, lower=b - 1.96 * se, upper=b + 1.96 * se, **common)
    add("figure-1", "model", "hazard ratio", estimate=math.exp(b), lower=math.exp(b - 1.96 * se), upper=math.exp(b + 1.96 * se), **common)
add("figure-1", "model", "log likelihood", estimate=-912.447, n=242, events=199)

level = lambda pairs: [{"value": v, "label": x} for v, x in pairs]
arch = {"name": "arch", "label": "Arch type", "unit": "", "levels": level(ARCH), "missing": []}
sex = {"name": "sex", "label": "Sex", "unit": "", "levels": level([("female", "Female"), ("male", "Male")]),
       "missing": level([("DK", "unknown"), ("RF", "refused")])}
age = {"name": "age_enrolled", "label": "Age at enrolment", "unit": "years", "levels": [], "missing": []}
fpi = {"name": "fpi_total", "label": "Foot posture index total of the more pronated foot", "unit": "points", "levels": [],
       "missing": level([("NM", "not measured"), ("DK", "unknown")])}
sport = {"name": "main_sport", "label": "Main sport (Größe der Gruppe ≥ 1 – as the child says)", "unit": "", "levels": level(SPORTS),
         "missing": []}
setting = lambda key, value, written=True: {"key": key, "value": value, "written": written}
GARWOOD = {"key": "Garwood 1936", "text": "Garwood F. Fiducial limits for the Poisson distribution. Biometrika 1936;28:437–442."}
WOOLF = {"key": "Woolf 1955", "text": "Woolf B. On estimating the relation between blood group and disease. Ann Hum Genet 1955;19:251–253."}
KM = {"key": "Kaplan and Meier 1958",
      "text": "Kaplan EL, Meier P. Nonparametric estimation from incomplete observations. J Am Stat Assoc 1958;53:457–481."}
EFRON = {"key": "Efron 1977",
         "text": "Efron B. The efficiency of Cox's likelihood function for censored data. J Am Stat Assoc 1977;72:557–565."}
removed = lambda what, reason, n: {"what": what, "reason": reason, "n": n}
analyses = [
    dict(id="table-1", kind="describe", title="Children at enrolment by arch type", line=36, unit="participants",
         settings=[setting("table", "participants"), setting("by", "arch"), setting("quantile", "linear interpolation", False)],
         variables=[arch, age, fpi, sex, sport], accounting=[removed("participants", "no arch type: left out of the groups", 43)],
         warnings=[], methods="Numbers are described by mean, standard deviation, median and quartiles, categories by counts and "
         "percentages of those with a value.", references=[], figures=[]),
    dict(id="table-2", kind="incidence", title="First episodes of heel pain per 1,000 hours of sport", line=43, unit="participants",
         settings=[setting("episodes", "first"), setting("reference.sport", "swimming"), setting("per", "1000"),
                   setting("level", "0.95", False), setting("limits", "exact Poisson", False)],
         variables=[{"name": "age_now", "label": "Current age", "unit": "years", "levels": level(BANDS), "missing": []},
                    {"name": "sport", "label": "Sport", "unit": "", "levels": level(SPORTS), "missing": []}],
         accounting=[removed("participants", "an episode before day 0: not at risk of a first one", 61),
                     removed("hours", "after the first event", 18211.75), removed("events", "sport at onset not played that week", 4)],
         warnings=["Children in two sports contribute hours to each: the sports' rows do not add up to the children."],
         methods="Incidence rates are first episodes over hours of sport at risk, with exact Poisson limits. Rate ratios are "
         "conditional on age where shown by age.", references=[GARWOOD], figures=["table-2"]),
    dict(id="table-3", kind="association", title="Any episode of heel pain during follow-up by arch type", line=55,
         unit="participants", settings=[setting("outcome", "any_episode"), setting("exposure", "arch"), setting("reference", "normal"),
                                        setting("adjust", "age_enrolled, sex"), setting("level", "0.95", False)],
         variables=[arch, age, sex, {"name": "any_episode", "label": "Heel pain episode", "unit": "", "levels": [], "missing": []},
                    {"name": "<script>alert(1)</script><b>", "label": "<script>alert(1)</script><b>", "unit": "", "levels": [],
                     "missing": []}],
         accounting=[removed("rows", "no arch type", 43), removed("rows", "sex refused (adjusted model alone)", 3)],
         warnings=["The outcome is common: odds ratios lie further from 1 than risk ratios."],
         methods="Crude odds ratios have Woolf limits. Adjusted odds ratios come from logistic regression.",
         references=[WOOLF, GARWOOD], figures=["table-3"]),
    dict(id="figure-1", kind="time-to-event", title="Time from onset to match return by arch type", line=64, unit="heels",
         settings=[setting("start", "onset"), setting("entry", "0"), setting("cluster", "participant_id"),
                   setting("ties", "efron", False), setting("limits", "log-log", False)],
         variables=[arch], accounting=[removed("rows", "no arch type", 9)],
         warnings=["Two heels of one child are not independent; errors of the model are robust by child."],
         methods="Times to match return are estimated by the Kaplan–Meier method with log-log limits and compared by the log-rank "
         "test and a proportional hazards model with Efron's ties.", references=[KM, EFRON], figures=["figure-1"]),
]
step = lambda table, name, gone, unknown, left: {"table": table, "step": name, "removed": gone, "missing": unknown, "left": left}
results = {
    "schema": "urn:heelcohort:results:3", "program": "heelcohort 0.1.0", "title": "Saltmarsh Youth Sport Heel Registry",
    "plan": "study.yaml", "codebook": "codebook.yaml", "computed": True,
    "settings": [setting("level", "0.95"), setting("participants", "participants"), setting("seed", "1", False)],
    "caution": "For research on de-identified data. Not for diagnosing or treating a child, nor for deciding whether one may play: "
    "licensed clinicians, the ethics board and local law decide. Invented data: no child in this registry exists.",
    "findings": [
        {"severity": "error", "rule": "minimum", "n": 3, "first": 'data/registry.xlsx, sheet "participants", M212',
         "message": "Below the least value that the codebook allows."},
        {"severity": "warning", "rule": "sitting height & <height> ratio", "n": 1,
         "first": 'data/registry.xlsx, sheet "participants", row 88', "message": "Sitting height is not 0.46 to 0.60 of the height."}],
    "exceptions": [], "instruments": [],
    "flow": [step("participants", "rows in the data", 0, 0, 1231), step("participants", "no consent to research use", 33, 2, 1196),
             step("participants", "outside 6 to 16 years", 6, 0, 1190), step("participants", "analysed", 0, 0, 1190),
             step("episodes", "rows in the data", 0, 0, 402), step("episodes", "of participants left out", 11, 0, 391),
             step("episodes", "analysed", 0, 0, 391)],
    "analyses": analyses, "rows": rows,
}
text = json.dumps({**results, "rows": []}, ensure_ascii=False, indent=1)
lines = ",\n".join("  " + json.dumps(r, ensure_ascii=False) for r in rows)
print(text.replace('"rows": []', '"rows": [\n' + lines + "\n ]"))
