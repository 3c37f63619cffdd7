# Log-binomial and modified Poisson regression by base R's glm, with robust
# covariances worked out here, and the largest log likelihood of the
# log-binomial model over risks of at most 1 by constrOptim's barrier, on the
# cases given as JSON on standard input; JSON on standard output.
#
#   Rscript risks.R < risks_input.json > risks_output.json
#
# makes the stored output that is compared without R.
suppressPackageStartupMessages(library(jsonlite))
options(warn = -1)

strict <- glm.control(epsilon = 1e-14, maxit = 500)

sandwich <- function(bread, scores, cluster) {
  bread %*% crossprod(rowsum(scores, cluster)) %*% bread
}

logbinomial <- function(x, yes, cluster) {
  start <- c(log(mean(yes)), rep(0, ncol(x)))
  fit <- tryCatch(glm(yes ~ x, family = binomial(link = "log"), start = start, control = strict), error = function(e) NULL)
  if (is.null(fit)) return(NULL)
  found <- fit$converged && !fit$boundary
  b <- coef(fit)
  design <- cbind(1, x)
  if (found) {
    # Scoring converges linearly with this link, and glm stops by the deviance,
    # which stands still when the coefficients have half its digits: go on.
    found <- tryCatch({
      for (k in 1:200) {
        mu <- exp(drop(design %*% b))
        b <- b + solve(crossprod(design, design * (mu / (1 - mu))), crossprod(design, (yes - mu) / (1 - mu)))[, 1]
      }
      all(design %*% b < 0)
    }, error = function(e) FALSE)
  }
  if (!found) {
    b <- coef(fit)
  }
  mu <- exp(drop(design %*% b))
  bread <- solve(crossprod(design, design * (mu / (1 - mu))), tol = 0)
  list(
    coefficients = unname(b), covariance = unname(bread),
    robust = unname(sandwich(bread, design * (yes - mu) / (1 - mu), cluster)),
    loglik = as.numeric(logLik(fit)), null = sum(log(mean(yes)) * sum(yes) + log(1 - mean(yes)) * sum(!yes)),
    deviance = deviance(fit), converged = found, furthest = max(mu)
  )
}

largest <- function(x, yes) {
  design <- cbind(1, scale(x))
  value <- function(b) {
    eta <- drop(design %*% b)
    -sum(ifelse(yes, eta, log(-expm1(eta))))
  }
  slope <- function(b) {
    mu <- exp(drop(design %*% b))
    -colSums(design * ((yes - mu) / (1 - mu)))
  }
  start <- c(log(mean(yes)) - 0.01, rep(0, ncol(x)))
  best <- tryCatch(constrOptim(start, value, slope, ui = -design, ci = rep(0, nrow(design)), mu = 1e-5,
    outer.iterations = 500, outer.eps = 1e-12, control = list(reltol = 1e-14, maxit = 1000)), error = function(e) NULL)
  if (is.null(best)) return(NULL) # it stepped on the bound
  list(loglik = -best$value, risk = exp(max(design %*% best$par)))
}

poisson_fit <- function(x, yes, cluster) {
  fit <- glm(yes ~ x, family = poisson, control = strict)
  bread <- summary(fit, dispersion = 1)$cov.scaled
  g <- length(unique(cluster))
  n <- length(yes)
  scores <- cbind(1, x) * (fit$y - fitted(fit))
  list(
    coefficients = unname(coef(fit)), covariance = unname(sandwich(bread, scores, seq_len(n)) * n / (n - 1)),
    robust = unname(sandwich(bread, scores, cluster) * g / (g - 1)), furthest = max(abs(log(fitted(fit))))
  )
}

one <- function(case) {
  x <- do.call(rbind, case$x)
  yes <- case$yes
  list(
    logbinomial = logbinomial(x, yes, case$cluster), largest = largest(x, yes),
    poisson = poisson_fit(x, yes, case$cluster)
  )
}

cases <- fromJSON(file("stdin"), simplifyDataFrame = FALSE, simplifyMatrix = FALSE)
write(toJSON(list(version = R.version.string, cases = lapply(cases, one)), digits = NA, null = "null"), stdout())
