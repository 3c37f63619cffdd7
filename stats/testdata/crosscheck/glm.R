# Logistic and Poisson regression by base R's glm, with robust covariances
# worked out here from its residuals, on the cases given as JSON on standard
# input; JSON on standard output.
#
#   Rscript glm.R < glm_input.json > glm_output.json
#
# makes the stored output that is compared without R.
suppressPackageStartupMessages(library(jsonlite))
options(warn = 1)

strict <- glm.control(epsilon = 1e-14, maxit = 100)

robust <- function(fit, cluster) {
  x <- model.matrix(fit)
  scores <- x * (fit$y - fitted(fit)) # the canonical link's
  sums <- rowsum(scores, cluster)
  bread <- solve(crossprod(x, x * fit$weights), tol = 0)
  bread %*% crossprod(sums) %*% bread
}

answer <- function(fit, cluster) {
  g <- length(unique(cluster))
  none <- robust(fit, cluster)
  null <- update(fit, . ~ 1)
  list(
    coefficients = unname(coef(fit)),
    covariance = unname(summary(fit, dispersion = 1)$cov.scaled),
    robust = unname(none),
    corrected = unname(none * g / (g - 1)),
    loglik = as.numeric(logLik(fit)),
    null = as.numeric(logLik(null)),
    deviance = deviance(fit),
    dispersion = sum(residuals(fit, "pearson")^2) / fit$df.residual,
    converged = fit$converged,
    furthest = max(abs(fit$linear.predictors - if (is.null(fit$offset)) 0 else fit$offset))
  )
}

one <- function(case) {
  x <- do.call(rbind, case$x)
  cluster <- case$cluster
  yes <- case$yes
  events <- case$events
  time <- case$time
  list(
    logistic = answer(glm(yes ~ x, family = binomial, control = strict), cluster),
    poisson = answer(glm(events ~ x, family = poisson, offset = log(time), control = strict), cluster)
  )
}

cases <- fromJSON(file("stdin"), simplifyDataFrame = FALSE, simplifyMatrix = FALSE)
write(toJSON(list(version = R.version.string, cases = lapply(cases, one)), digits = NA), stdout())
