# Concordance of scores and of Cox models by R's survival package, on the cases
# given as JSON on standard input; JSON on standard output.
#
#   Rscript concordance.R < concordance_input.json > concordance_output.json
#
# makes the stored output that is compared without R.
suppressPackageStartupMessages({
  library(survival)
  library(jsonlite)
})
options(warn = -1)

values <- function(r) list(c = unname(r$concordance), se = sqrt(r$var), dfbeta = unname(r$dfbeta),
                           count = unname(if (is.matrix(r$count)) colSums(r$count) else r$count))

answer <- function(case) {
  n <- length(case$exit)
  d <- data.frame(row = seq_len(n))
  d$x <- as.matrix(case$x)
  d$score <- d$x[, ncol(d$x)]
  d$o <- if (is.null(case$offset)) rep(0, n) else case$offset
  d$st <- if (is.null(case$stratum)) rep(0, n) else case$stratum
  d$w <- if (is.null(case$weight)) rep(1, n) else case$weight
  d$id <- if (is.null(case$cluster)) seq_len(n) else case$cluster
  d$s <- if (is.null(case$entry)) Surv(case$exit, case$status) else Surv(case$entry, case$exit, case$status)
  strata <- length(unique(d$st)) > 1
  formula <- as.formula(paste("s ~ score", if (strata) "+ strata(st)"))
  out <- list(larger = values(concordance(formula, d, weights = w, cluster = id, influence = 1)),
              smaller = values(concordance(formula, d, weights = w, cluster = id, influence = 1, reverse = TRUE)))
  formula <- as.formula(paste("s ~ x + offset(o)", if (strata) "+ strata(st)"))
  f <- coxph(formula, d, weights = w, cluster = id, ties = case$ties, control = coxph.control(eps = 1e-11, iter.max = 60))
  # Whether predictors that differ by rounding are tied is chance: such models are
  # not compared.
  eta <- sort(unique(f$linear.predictors))
  if (!any(is.na(coef(f))) && f$iter < 30 && !any(diff(eta) < 1e-9)) out$model <- values(concordance(f, influence = 1))
  out
}

cases <- fromJSON(file("stdin"), simplifyDataFrame = FALSE)
cat(toJSON(list(version = paste(R.version.string, "survival", packageVersion("survival")),
                cases = lapply(cases, answer)),
           auto_unbox = FALSE, digits = I(15), na = "string"), "\n")
