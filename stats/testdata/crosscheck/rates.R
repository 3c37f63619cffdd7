# Rates, their ratios and differences, standardised and stratified, on the
# cases given as JSON on standard input; JSON on standard output. Limits are
# found from base R's distribution functions by uniroot, tests by glm and
# chisq.test, the rest is plain arithmetic on vectors.
#
#   Rscript rates.R < rates_input.json > rates_output.json
#
# makes the stored output that is compared without R.
suppressPackageStartupMessages(library(jsonlite))
options(warn = -1)

root <- function(f, lower, upper) uniroot(f, c(lower, upper), tol = 1e-14 * upper, maxiter = 10000)$root

midp_poisson <- function(k, tail) {
  upper_bound <- qgamma(tail, k + 1, lower.tail = FALSE) + 1
  lower <- if (k == 0) 0 else
    root(function(m) ppois(k, m, lower.tail = FALSE) + dpois(k, m) / 2 - tail, 1e-12, upper_bound)
  c(lower, root(function(m) ppois(k - 1, m) + dpois(k, m) / 2 - tail, 1e-12, upper_bound))
}

byar <- function(k, z) {
  lower <- if (k == 0) 0 else max(0, k * (1 - 1 / (9 * k) - z / (3 * sqrt(k)))^3)
  c(lower, (k + 1) * (1 - 1 / (9 * (k + 1)) + z / (3 * sqrt(k + 1)))^3)
}

# On the scale of the log odds, so that neither end loses digits.
midp_odds <- function(k, n, tail) {
  solve <- function(f) exp(uniroot(f, c(-30, 30), tol = 1e-14, maxiter = 10000)$root)
  above <- function(x) pbinom(k, n, plogis(x), lower.tail = FALSE) + dbinom(k, n, plogis(x)) / 2 - tail
  below <- function(x) pbinom(k - 1, n, plogis(x)) + dbinom(k, n, plogis(x)) / 2 - tail
  c(if (k == 0) 0 else solve(above), if (k == n) Inf else solve(below))
}

# The score test of a difference: the restricted rates by numerical maximum.
score_difference <- function(a, s, b, t, z) {
  d <- a / s - b / t
  least <- function(delta) {
    loglik <- function(r0) {
      r1 <- r0 + delta
      (if (a > 0) a * log(r1) else 0) - s * r1 + (if (b > 0) b * log(r0) else 0) - t * r0
    }
    low <- max(0, -delta)
    high <- low + (a + b + 1) / min(s, t)
    slope <- function(r0) (if (a > 0) a / (r0 + delta) else 0) + (if (b > 0) b / r0 else 0) - s - t
    inner <- low + (high - low) * 1e-13
    r0 <- if (slope(inner) <= 0) low else uniroot(slope, c(inner, high), tol = 1e-16, maxiter = 10000)$root
    c(r0 + delta, r0)
  }
  score <- function(delta) {
    r <- least(delta)
    (d - delta) / sqrt(r[1] / s + r[2] / t)
  }
  step <- 10 * (sqrt(a) + sqrt(b) + 3 * z + z^2) * (1 / s + 1 / t)
  c(root2(function(x) score(x) - z, d - step, d), root2(function(x) score(x) + z, d, d + step), 2 * pnorm(-abs(score(0))))
}
root2 <- function(f, lower, upper) uniroot(f, c(lower, upper), tol = 1e-13 * (upper - lower), maxiter = 10000)$root

direct <- function(x, n, w, tail, modified) {
  w <- w / sum(w) / n
  y <- sum(w * x)
  v <- sum(w^2 * x)
  m <- if (modified) mean(w) else max(w)
  m2 <- if (modified) mean(w^2) else max(w)^2
  lower <- if (y == 0) 0 else v / (2 * y) * qchisq(tail, 2 * y^2 / v)
  c(y, sqrt(v), lower, (v + m2) / (2 * (y + m)) * qchisq(tail, 2 * (y + m)^2 / (v + m2), lower.tail = FALSE))
}

one <- function(case) {
  tail <- (1 - case$level) / 2
  z <- qnorm(tail, lower.tail = FALSE)
  k <- case$events
  a <- case$events1; s <- case$time1; b <- case$events0; t <- case$time0
  n <- a + b
  scale <- t / s
  pi <- s / (s + t)
  below <- pbinom(a, n, pi); above <- pbinom(a - 1, n, pi, lower.tail = FALSE)
  wilson <- suppressWarnings(prop.test(a, n, conf.level = case$level, correct = FALSE)$conf.int)
  wilson_rest <- suppressWarnings(prop.test(b, n, conf.level = case$level, correct = FALSE)$conf.int)

  x <- case$counts; time <- case$times; w <- case$weights; score <- case$scores
  observed <- case$observed
  expected <- sum(time * case$reference)

  A <- case$strata_a; S <- case$strata_s; B <- case$strata_b; T <- case$strata_t
  N <- S + T
  over <- sum(A * T / N); under <- sum(B * S / N); v <- sum((A + B) * S * T / N^2)
  mh <- over / under
  rd <- sum((A * T - B * S) / N) / sum(S * T / N)
  rd_se <- sqrt(sum((A * T^2 + B * S^2) / N^2)) / sum(S * T / N)
  pooled <- mh * S / (mh * S + T)
  some <- A + B > 0
  logs <- all((A > 0 & B > 0)[some])
  homogeneity <- if (logs) sum(((log(A / S / (B / T)) - log(mh))^2 / (1 / A + 1 / B))[some]) else
    sum(((A - (A + B) * pooled)^2 / ((A + B) * pooled * (1 - pooled)))[some])

  fit <- function(formula) glm(formula, poisson, control = glm.control(epsilon = 1e-14, maxit = 100))
  trend <- anova(fit(x ~ offset(log(time))), fit(x ~ score + offset(log(time))), test = "Rao")
  same <- chisq.test(x, p = time / sum(time))
  h <- case$hits; m <- case$trials
  odds <- midp_odds(h, m, tail)
  ac <- (h + z^2 / 2) / (m + z^2)
  list(
    midp = midp_poisson(k, tail),
    byar = byar(k, z),
    ratio_midp = c(midp_odds(a, n, tail) * scale, min(1, 2 * min(below, above) - dbinom(a, n, pi))),
    ratio_score = c(wilson[1] / wilson_rest[2] * scale, wilson[2] / wilson_rest[1] * scale,
      2 * pnorm(-abs((a - n * pi) / sqrt(n * pi * (1 - pi))))),
    difference = score_difference(a, s, b, t, z),
    indirect = c(observed / expected, min(1, 2 * ppois(observed, expected), 2 * ppois(observed - 1, expected, lower.tail = FALSE))),
    direct = direct(x, time, w, tail, FALSE),
    modified = direct(x, time, w, tail, TRUE),
    mh = c(mh, sqrt(v / over / under), pchisq((sum(A) - sum((A + B) * S / N))^2 / v, 1, lower.tail = FALSE)),
    mh_difference = c(rd, rd_se),
    homogeneity = homogeneity,
    logs = logs,
    trend = c(trend$Rao[2], trend$`Pr(>Chi)`[2]),
    same = c(unname(same$statistic), same$p.value),
    proportion_midp = c(odds[1] / (1 + odds[1]), if (is.infinite(odds[2])) 1 else odds[2] / (1 + odds[2])),
    jeffreys = c(if (h == 0) 0 else qbeta(tail, h + 0.5, m - h + 0.5), if (h == m) 1 else qbeta(tail, h + 0.5, m - h + 0.5, lower.tail = FALSE)),
    agresti = c(max(0, ac - z * sqrt(ac * (1 - ac) / (m + z^2))), min(1, ac + z * sqrt(ac * (1 - ac) / (m + z^2))))
  )
}

cases <- fromJSON(file("stdin"), simplifyDataFrame = FALSE, simplifyMatrix = FALSE)
write(toJSON(list(version = R.version.string, cases = lapply(cases, one)), digits = NA), stdout())
