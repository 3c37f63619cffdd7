# Cox models of R's survival package with strata, weights, offsets, late entry,
# clusters and the exact handling of ties, on the cases given as JSON on
# standard input; JSON on standard output.
#
#   Rscript cox.R < cox_input.json > cox_output.json
#
# makes the stored output that is compared without R.
suppressPackageStartupMessages({
  library(survival)
  library(jsonlite)
})
options(warn = -1)

answer <- function(case) {
  s <- if (is.null(case$entry)) Surv(case$exit, case$status) else Surv(case$entry, case$exit, case$status)
  n <- length(case$exit)
  d <- list(s = s, x = case$x,
            o = if (is.null(case$offset)) rep(0, n) else case$offset,
            st = if (is.null(case$stratum)) rep(1, n) else case$stratum)
  control <- coxph.control(eps = 1e-11, iter.max = 60)
  warned <- FALSE
  f <- withCallingHandlers({
    if (case$ties == "exact") {
      coxph(s ~ x + strata(st) + offset(o), d, ties = "exact", control = control)
    } else {
      d$w <- if (is.null(case$weight)) rep(1, n) else case$weight
      d$id <- if (is.null(case$cluster)) seq_len(n) else case$cluster
      coxph(s ~ x + strata(st) + offset(o), d, weights = w, cluster = id, ties = case$ties, control = control)
    }
  }, warning = function(w) {
    warned <<- TRUE
    invokeRestart("muffleWarning")
  })
  model <- if (is.null(f$naive.var)) f$var else f$naive.var
  list(coefficients = unname(coef(f)), model = unname(model), robust = unname(f$var),
       loglik = f$loglik, score = unname(f$score), wald = unname(f$wald.test), warned = warned)
}

cases <- fromJSON(file("stdin"), simplifyDataFrame = FALSE)
cat(toJSON(list(version = paste(R.version.string, "survival", packageVersion("survival")),
                cases = lapply(cases, answer)),
           auto_unbox = FALSE, digits = I(15), na = "string"), "\n")
