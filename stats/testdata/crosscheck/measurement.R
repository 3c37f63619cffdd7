# Intraclass correlations from base R's analysis of variance, exact limits of
# limits of agreement from its noncentral t distribution, and its adjusted
# p-values, on the cases given as JSON on standard input; JSON on standard
# output.
#
#   Rscript measurement.R < measurement_input.json > measurement_output.json
#
# makes the stored output that is compared without R.
suppressPackageStartupMessages(library(jsonlite))
options(warn = -1)

icc <- function(ratings, level) {
  n <- nrow(ratings)
  k <- ncol(ratings)
  long <- data.frame(y = as.vector(ratings), subject = factor(rep(seq_len(n), k)), rater = factor(rep(seq_len(k), each = n)))
  two <- summary(aov(y ~ subject + rater, long))[[1]][["Mean Sq"]]
  b <- two[1]; c <- two[2]; e <- two[3]
  w <- summary(aov(y ~ subject, long))[[1]][["Mean Sq"]][2]
  tail <- (1 - level) / 2
  up <- function(r) k * r / (1 + (k - 1) * r)
  plain <- function(f, df) {
    l <- f / qf(tail, n - 1, df, lower.tail = FALSE)
    u <- f * qf(tail, df, n - 1, lower.tail = FALSE)
    c((f - 1) / (f + k - 1), (l - 1) / (l + k - 1), (u - 1) / (u + k - 1), 1 - 1 / f, 1 - 1 / l, 1 - 1 / u,
      pf(f, n - 1, df, lower.tail = FALSE))
  }
  rho <- (b - e) / (b + (k - 1) * e + k * (c - e) / n)
  f <- c / e
  v <- (k - 1) * (n - 1) * (k * rho * f + n * (1 + (k - 1) * rho) - k * rho)^2 /
    ((n - 1) * k^2 * rho^2 * f^2 + (n * (1 + (k - 1) * rho) - k * rho)^2)
  f1 <- qf(tail, n - 1, v, lower.tail = FALSE)
  f2 <- qf(tail, v, n - 1, lower.tail = FALSE)
  l <- n * (b - f1 * e) / (f1 * (k * c + (k * n - k - n) * e) + n * b)
  u <- n * (f2 * b - e) / (k * c + (k * n - k - n) * e + n * f2 * b)
  list(
    squares = c(b, w, c, e),
    oneway = plain(b / w, n * (k - 1)),
    consistency = plain(b / e, (n - 1) * (k - 1)),
    agreement = c(rho, l, u, (b - e) / (b + (c - e) / n), up(l), up(u), pf(b / e, n - 1, (n - 1) * (k - 1), lower.tail = FALSE)),
    sem = sqrt(c(w, e + max(0, (c - e) / n), e))
  )
}

difference <- function(first, second, level) {
  d <- first - second
  m <- (first + second) / 2
  n <- length(d)
  tail <- (1 - level) / 2
  z <- qnorm(0.975)
  ncp <- z * sqrt(n)
  quantile <- function(p) {
    excess <- function(t) pt(t, n - 1, ncp) - p
    uniroot(excess, c(ncp - 1, ncp + 1), extendInt = "upX", tol = 1e-12, maxiter = 10000)$root
  }
  s <- sd(d) / sqrt(n)
  near <- s * quantile(tail)
  far <- s * quantile(1 - tail)
  fit <- summary(lm(d ~ m))$coefficients
  c(
    mean(d), sd(d), t.test(d, conf.level = level)$conf.int, t.test(d)$p.value,
    mean(d) - z * sd(d), mean(d) + z * sd(d), mean(d) - far, mean(d) - near, mean(d) + near, mean(d) + far,
    fit[2, 1], fit[2, 2], fit[2, 4], fit[1, 1], confint(lm(d ~ m), level = level)[2, ]
  )
}

one <- function(case) {
  ratings <- do.call(rbind, case$ratings)
  list(
    icc = icc(ratings, case$level),
    difference = unname(difference(ratings[, 1], ratings[, 2], case$level)),
    adjusted = lapply(c("holm", "bonferroni", "hochberg", "BH", "BY"), function(m) p.adjust(case$p, m))
  )
}

cases <- fromJSON(file("stdin"), simplifyDataFrame = FALSE, simplifyMatrix = FALSE)
write(toJSON(list(version = R.version.string, cases = lapply(cases, one)), digits = NA), stdout())
