# Subdistribution hazards models of R's cmprsk (Breslow's ties, its own
# variance) and of survival's finegray with coxph (both ties, robust variance
# with the weights known) on the cases given as JSON on standard input; JSON on
# standard output. crr takes rows that end at a time of censoring to be at risk
# of it; its censoring times are therefore moved a quarter later.
#
#   Rscript finegray.R < finegray_input.json > finegray_output.json
#
# makes the stored output that is compared without R.
suppressPackageStartupMessages({
  library(survival)
  library(cmprsk)
  library(jsonlite)
})
options(warn = -1)

quiet <- function(expr) {
  warned <- FALSE
  value <- tryCatch(withCallingHandlers(expr, warning = function(w) {
    warned <<- TRUE
    invokeRestart("muffleWarning")
  }), error = function(e) NULL)
  list(value = value, warned = warned)
}

subdistribution <- function(case) {
  x <- as.matrix(as.data.frame(case$x))
  moved <- case$exit + ifelse(case$cause == 0, 0.25, 0)
  r <- quiet(crr(moved, case$cause, x, gtol = 1e-13, maxiter = 60))
  f <- r$value
  if (is.null(f)) return(list(failed = TRUE))
  p <- predict(f, x[1, , drop = FALSE])
  list(failed = FALSE, coefficients = unname(f$coef), covariance = unname(f$var), information = unname(solve(f$inf)),
       loglik = c(f$loglik.null, f$loglik), score = unname(f$score), time = p[, 1], incidence = p[, 2])
}

weighted <- function(case, ties) {
  d <- as.data.frame(case$x)
  names(d) <- terms <- paste0("x", seq_along(d))
  d$row <- seq_along(case$exit)
  d$own <- if (is.null(case$cluster)) d$row else case$cluster
  d$end <- factor(case$cause, 0:3)
  d$exit <- case$exit
  r <- quiet({
    if (is.null(case$entry)) {
      e <- finegray(Surv(exit, end) ~ ., d, etype = "1")
    } else {
      d$entry <- case$entry
      e <- finegray(Surv(entry, exit, end) ~ ., d, etype = "1", id = row)
    }
    e$t1 <- e$fgstart; e$t2 <- e$fgstop; e$st <- e$fgstatus; e$wt <- e$fgwt
    coxph(as.formula(paste("Surv(t1, t2, st) ~", paste(terms, collapse = "+"))), e, weights = wt, cluster = own,
          ties = ties, control = coxph.control(eps = 1e-11, iter.max = 60))
  })
  f <- r$value
  if (is.null(f)) return(list(failed = TRUE))
  out <- list(failed = FALSE, warned = r$warned, coefficients = unname(coef(f)), covariance = unname(f$var),
              information = unname(f$naive.var), loglik = f$loglik, wald = unname(f$wald.test))
  if (!any(is.na(coef(f)))) {
    s <- survfit(f, newdata = d[1, terms, drop = FALSE])
    keep <- s$n.event > 0
    out$time <- s$time[keep]
    out$incidence <- 1 - exp(-s$cumhaz[keep])
  }
  out
}

answer <- function(case) {
  list(crr = if (is.null(case$entry)) subdistribution(case) else NULL,
       efron = weighted(case, "efron"), breslow = weighted(case, "breslow"))
}

cases <- fromJSON(file("stdin"), simplifyDataFrame = FALSE)
cat(toJSON(list(version = paste(R.version.string, "survival", packageVersion("survival"), "cmprsk", packageVersion("cmprsk")),
                cases = lapply(cases, answer)),
           auto_unbox = FALSE, digits = I(15), na = "string", null = "null"), "\n")
