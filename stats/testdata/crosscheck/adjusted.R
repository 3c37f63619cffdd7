# Adjusted survival curves with R's survival package, on the cases given as JSON on
# standard input; JSON on standard output. The first covariate is the group, of
# levels 0 and 1. Survival of each row at each level is that of survfit, averaged;
# its covariance is the infinitesimal jackknife by numbers: every row's weight is
# moved up and down a little and the model fitted anew.
#
#   Rscript adjusted.R < adjusted_input.json > adjusted_output.json
#
# makes the stored output that is compared without R.
suppressPackageStartupMessages({
  library(survival)
  library(jsonlite)
})
options(warn = -1)

control <- coxph.control(eps = 1e-12, iter.max = 60, toler.chol = 1e-13)

answer <- function(case) {
  n <- length(case$exit)
  d <- as.data.frame(case$x)
  names(d) <- terms <- paste0("x", seq_along(d))
  d$o <- if (is.null(case$offset)) rep(0, n) else case$offset
  d$st <- if (is.null(case$stratum)) rep(0, n) else case$stratum
  weight <- if (is.null(case$weight)) rep(1, n) else case$weight
  mean.weight <- if (is.null(case$mean)) weight else case$mean
  id <- if (is.null(case$cluster)) seq_len(n) else case$cluster
  d$s <- if (is.null(case$entry)) Surv(case$exit, case$status) else Surv(case$entry, case$exit, case$status)
  strata <- sort(unique(d$st))
  formula <- as.formula(paste("s ~", paste(terms, collapse = " + "), "+ offset(o)",
                             if (length(strata) > 1) "+ strata(st)")) # survfit fails on one stratum
  fit <- function(w) {
    d$w <- w
    environment(formula) <- environment()
    coxph(formula, d, weights = w, ties = case$ties, control = control)
  }
  event.times <- sort(unique(case$exit[case$status == 1]))
  event.times <- event.times[event.times > 0 & event.times < case$horizon]
  edges <- c(0, event.times, case$horizon)
  all.times <- c(case$at, edges[-length(edges)])
  # The baseline hazard of each stratum at all.times, columns by stratum.
  baseline <- function(f) {
    new <- d[rep(1, length(strata)), ]
    new[terms] <- 0
    new$o <- 0
    new$st <- strata
    curves <- survfit(f, newdata = new, se.fit = FALSE)
    lengths <- if (length(strata) == 1) length(curves$time) else curves$strata
    part <- rep(seq_along(strata), lengths)
    hazard <- as.vector(curves$cumhaz)
    sapply(seq_along(strata), function(k) {
      c(0, hazard[part == k])[1 + findInterval(all.times, curves$time[part == k])]
    })
  }
  numbers <- function(f, v) {
    hazard <- baseline(f)[, match(d$st, strata), drop = FALSE] # times by rows
    unlist(lapply(0:1, function(level) {
      x <- as.matrix(d[terms])
      x[, 1] <- level
      relative <- exp(drop(x %*% coef(f)) + d$o)
      s <- drop(exp(-sweep(hazard, 2, relative, "*")) %*% v) / sum(v)
      k <- seq_along(case$at)
      c(s[k], sum(s[-k] * diff(edges)))
    }))
  }
  f <- fit(weight)
  if (any(is.na(coef(f)))) return(list(failed = TRUE))
  # By survfit for each row, without the shortcut over the baseline.
  rowwise <- sapply(0:1, function(level) {
    new <- d
    new[[1]] <- level
    s <- sapply(seq_len(n), function(i) {
      curve <- survfit(f, newdata = new[i, ], se.fit = FALSE)
      c(1, as.vector(curve$surv))[1 + findInterval(case$at, curve$time)]
    })
    drop(matrix(s, ncol = n) %*% mean.weight) / sum(mean.weight)
  })
  h <- 1e-4
  influence <- t(sapply(seq_len(n), function(i) {
    moved <- lapply(c(h, -h), function(by) {
      factor <- replace(rep(1, n), i, 1 + by)
      numbers(fit(weight * factor), if (case$given) mean.weight else mean.weight * factor)
    })
    (moved[[1]] - moved[[2]]) / (2 * h)
  }))
  list(failed = FALSE, rowwise = as.vector(rowwise), numbers = numbers(f, mean.weight),
       covariance = crossprod(rowsum(influence, id)))
}

cases <- fromJSON(file("stdin"), simplifyDataFrame = FALSE)
cat(toJSON(list(version = paste(R.version.string, "survival", packageVersion("survival")),
                cases = lapply(cases, function(case) {
                  tryCatch(answer(case), error = function(e) list(failed = TRUE))
                })),
           auto_unbox = FALSE, digits = I(15), na = "string"), "\n")
