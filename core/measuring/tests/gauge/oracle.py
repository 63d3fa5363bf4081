"""The same statistics by scipy, statsmodels and scikit-learn: one JSON object in, one out."""

import json
import sys

import numpy as np
from scipy import integrate, optimize, special, stats
from sklearn.metrics import cohen_kappa_score
from statsmodels.discrete.discrete_model import Probit
from statsmodels.stats.inter_rater import cohens_kappa, fleiss_kappa
from statsmodels.stats.proportion import proportion_confint


def kappa(item):
    table = np.array(item["table"])
    r = cohens_kappa(table)
    z = stats.norm.ppf(0.5 + item["level"] / 2)
    se = float(np.sqrt(r.var_kappa))
    n = table.shape[0]
    rows, columns = np.meshgrid(range(n), range(n), indexing="ij")
    sk = cohen_kappa_score(rows.ravel(), columns.ravel(), sample_weight=table.ravel())
    return [float(r.kappa), float(sk), se, float(r.kappa - z * se), float(r.kappa + z * se)]


def panel(rows):
    rows = np.array(rows)
    n = len(rows)
    left = np.array([fleiss_kappa(np.delete(rows, i, axis=0)) for i in range(n)])
    se = np.sqrt((n - 1) / n * np.sum((left - left.mean()) ** 2))
    return [float(fleiss_kappa(rows)), float(se)]


def share(item):
    k, n, level = item
    low, high = proportion_confint(k, n, alpha=1 - level, method="wilson")
    return [float(low), float(high)]


def probit(item):
    x = np.array(item["room"])
    y = np.array(item["flat"])
    design = np.column_stack([np.ones_like(x), x])
    r = Probit(y, design).fit(disp=0, method="newton", tol=1e-13, maxiter=200)
    c = r.cov_params()
    return [float(v) for v in (r.params[0], r.params[1], c[0, 0], c[0, 1], c[1, 1], r.llf)]


def pooled(item):
    """The most likely values under a given ridge, by a search that knows nothing of ours."""
    x = np.array(item["room"])
    y = np.array(item["flat"])
    who = np.array(item["who"])
    groups = who.max() + 1
    ridge = 1 / item["variance"]

    def value(p):
        z = p[0] + p[1] * x + p[2:][who]
        s = np.where(y == 1, 1.0, -1.0)
        v = -np.sum(special.log_ndtr(s * z)) + 0.5 * ridge * np.sum(p[2:] ** 2)
        h = np.exp(-0.5 * z**2 - 0.5 * np.log(2 * np.pi) - special.log_ndtr(s * z)) * s
        g = np.concatenate([[-h.sum(), -(h * x).sum()], -np.bincount(who, h, groups)])
        g[2:] += ridge * p[2:]
        return v, g

    start = np.concatenate([[0.0, 0.1], np.zeros(groups)])
    r = optimize.minimize(value, start, jac=True, method="BFGS", options={"gtol": 1e-9, "maxiter": 5000})
    p = r.x
    return [float(1 / p[1])] + [float(-(p[0] + a) / p[1]) for a in p[2:]]


def risk(item):
    """Global risks of a normal population by adaptive quadrature."""
    mean, sd, limit, guard, u = item
    pdf = stats.norm(mean, sd).pdf
    accept = lambda h: stats.norm.cdf((limit - guard - h) / u)
    reject = lambda h: stats.norm.sf((limit - guard - h) / u)
    top, bottom = mean + 12 * sd, mean - 12 * sd
    near = [limit - guard - 3 * u, limit - guard, limit - guard + 3 * u]
    def whole(f, a, b):
        points = [p for p in near if a < p < b]
        return integrate.quad(f, a, b, points=points or None, epsabs=1e-13, limit=500)[0]
    cut = min(max(limit, bottom), top)
    return [whole(lambda h: pdf(h) * accept(h), cut, top), whole(lambda h: pdf(h) * reject(h), bottom, cut)]


data = json.load(sys.stdin)
json.dump(
    {
        "below": [float(v) for v in special.ndtr(data["z"])],
        "above": [float(v) for v in special.ndtr(-np.array(data["z"]))],
        "quantile": [float(v) for v in special.ndtri(data["p"])],
        "kappa": [kappa(i) for i in data["kappa"]],
        "panel": [panel(i) for i in data["panel"]],
        "share": [share(i) for i in data["share"]],
        "probit": [probit(i) for i in data["probit"]],
        "pooled": [pooled(i) for i in data["pooled"]],
        "risk": [risk(i) for i in data["risk"]],
    },
    sys.stdout,
)
