# Cox models with a gamma frailty by R's survival package, on the cases given as
# JSON on standard input; JSON on standard output.
#
#   Rscript frailty.R < frailty_input.json > frailty_output.json
#
# makes the stored output that is compared without R.
suppressPackageStartupMessages({
  library(survival)
  library(jsonlite)
})

one <- function(case) {
  d <- data.frame(id = case$child, entry = case$entry, exit = case$exit, status = case$status, a = case$a, b = case$b)
  control <- coxph.control(eps = 1e-12, toler.chol = 1e-13, iter.max = 200, outer.max = 100)
  # The whole information matrix (sparse = FALSE), which is no approximation.
  fit <- function(f) {
    warned <- FALSE
    r <- withCallingHandlers(tryCatch(coxph(f, d, ties = case$ties, control = control), error = function(e) NULL),
      warning = function(w) { warned <<- TRUE; invokeRestart("muffleWarning") })
    if (is.null(r) || warned) return(list(warned = TRUE))
    keep <- 1:2
    list(warned = FALSE, theta = r$history[[1]]$theta, integrated = r$history[[1]]$c.loglik,
      coefficients = unname(coef(r)[keep]), covariance = unname(r$var[keep, keep]),
      frailty = unname(if (is.null(r$frail)) coef(r)[-keep] else r$frail), children = sort(unique(d$id)))
  }
  list(fixed = fit(Surv(entry, exit, status) ~ a + b + frailty(id, theta = case$theta, sparse = FALSE)),
    free = fit(Surv(entry, exit, status) ~ a + b + frailty(id, sparse = FALSE, eps = 1e-10)))
}

cases <- fromJSON(file("stdin"), simplifyDataFrame = FALSE, simplifyMatrix = FALSE)
write(toJSON(list(version = c(R.version.string, paste("survival", packageVersion("survival"))),
  cases = lapply(cases, one)), digits = NA), stdout())
