# Cluster-robust covariances of Poisson regression written out with the whole
# hat matrix and its symmetric roots, Satterthwaite's degrees of freedom from
# the whole matrix of the quadratic form, marginal rates by prediction with a
# numerical gradient, tests of overdispersion, and natural cubic splines by
# splines::ns, on the cases given as JSON on standard input; JSON on standard
# output. Base R and jsonlite only.
#
#   Rscript robust.R < robust_input.json > robust_output.json
#
# makes the stored output that is compared without R.
suppressPackageStartupMessages(library(jsonlite))
library(splines)
options(warn = 1)

strict <- glm.control(epsilon = 1e-14, maxit = 100)

power <- function(m, a) {
  e <- eigen(m, symmetric = TRUE)
  e$vectors %*% (e$values^a * t(e$vectors))
}

robust <- function(x, w, r, cluster, a) {
  n <- nrow(x)
  xt <- x * sqrt(w)
  e <- r / sqrt(w)
  bread <- solve(crossprod(xt))
  hat <- xt %*% bread %*% t(xt)
  rest <- diag(n) - hat
  groups <- split(seq_len(n), cluster)
  meat <- 0
  adjusted <- list()
  for (g in groups) {
    root <- if (a == 0) diag(length(g)) else power(rest[g, g, drop = FALSE], a)
    u <- t(xt[g, , drop = FALSE]) %*% root %*% e[g]
    meat <- meat + u %*% t(u)
    adjusted <- c(adjusted, list(list(g, root)))
  }
  df <- sapply(seq_len(ncol(x)), function(j) {
    columns <- sapply(adjusted, function(q) {
      rest[, q[[1]], drop = FALSE] %*% q[[2]] %*% xt[q[[1]], , drop = FALSE] %*% bread[, j]
    })
    p <- crossprod(columns)
    sum(diag(p))^2 / sum(p^2)
  })
  list(v = bread %*% meat %*% bread, df = df)
}

numeric_gradient <- function(f, b) {
  sapply(seq_along(b), function(j) {
    h <- 1e-4 * max(1, abs(b[j]))
    at <- function(k) { b[j] <- b[j] + k * h; f(b) }
    (8 * (at(1) - at(-1)) - (at(2) - at(-2))) / (12 * h)
  })
}

one <- function(case) {
  x <- cbind(1, do.call(rbind, case$x))
  y <- case$events
  time <- case$time
  fit <- glm.fit(x, y, family = poisson(), offset = log(time), control = strict)
  mu <- fit$fitted.values
  b <- fit$coefficients
  n <- length(y)
  forms <- lapply(c(0, -0.5, -1), function(a) robust(x, mu, y - mu, case$cluster, a))
  level <- function(l) { z <- x; z[, 2] <- l; z }
  log_rate <- function(b, l) log(sum(time * exp(level(l) %*% b)) / sum(time))
  v <- forms[[2]]$v
  g1 <- numeric_gradient(function(b) log_rate(b, 1), b)
  g0 <- numeric_gradient(function(b) log_rate(b, 0), b)
  gd <- numeric_gradient(function(b) exp(log_rate(b, 1)) - exp(log_rate(b, 0)), b)
  hat <- rowSums((x * sqrt(mu)) %*% solve(crossprod(x * sqrt(mu))) * (x * sqrt(mu)))
  excess <- (y - mu)^2 - y
  regress <- function(x) coef(summary(lm(I(excess / mu) ~ 0 + x)))[1, 3]
  z <- case$x
  number <- x[, 3]
  knots <- quantile(number, c(1, 2) / 3, names = FALSE)
  spline <- glm.fit(cbind(1, ns(number, knots = knots, Boundary.knots = range(number))), y, family = poisson(),
    offset = log(time), control = strict)
  list(
    coefficients = b,
    cr0 = forms[[1]]$v, cr2 = forms[[2]]$v, cr3 = forms[[3]]$v,
    df0 = forms[[1]]$df, df2 = forms[[2]]$df, df3 = forms[[3]]$df,
    marginal = c(log_rate(b, 1), log_rate(b, 0)),
    marginal_se = sqrt(c(g1 %*% v %*% g1, (g1 - g0) %*% v %*% (g1 - g0), gd %*% v %*% gd)),
    dean = sum(excess + hat * mu) / sqrt(2 * sum(mu^2)),
    quadratic = regress(mu), linear = regress(rep(1, n)),
    t = qt(1 - (1 - case$level) / 2, forms[[2]]$df), tail = 2 * pt(-2.5, forms[[3]]$df),
    f = pf(3.1, 2, forms[[2]]$df[1], lower.tail = FALSE),
    knots = c(min(number), knots, max(number)),
    spline = log(spline$fitted.values),
    converged = fit$converged && spline$converged && max(abs(log(spline$fitted.values))) < 8
  )
}

cases <- fromJSON(file("stdin"), simplifyDataFrame = FALSE, simplifyMatrix = FALSE)
write(toJSON(list(version = R.version.string, cases = lapply(cases, one)), digits = NA), stdout())
