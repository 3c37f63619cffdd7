# Cox models of R's survival package with strata, weights, offsets, late entry,
# clusters and the exact handling of ties, with residuals and cumulative
# hazards, on the cases given as JSON on
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
  n <- length(case$exit)
  d <- as.data.frame(case$x)
  names(d) <- terms <- paste0("x", seq_along(d))
  d$o <- if (is.null(case$offset)) rep(0, n) else case$offset
  d$st <- if (is.null(case$stratum)) rep(0, n) else case$stratum
  d$w <- if (is.null(case$weight)) rep(1, n) else case$weight
  d$id <- if (is.null(case$cluster)) seq_len(n) else case$cluster
  d$s <- if (is.null(case$entry)) Surv(case$exit, case$status) else Surv(case$entry, case$exit, case$status)
  formula <- as.formula(paste("s ~", paste(terms, collapse = " + "), "+ offset(o)",
                             if (length(unique(d$st)) > 1) "+ strata(st)")) # survfit fails on one stratum
  control <- coxph.control(eps = 1e-11, iter.max = 60)
  robust <- !is.null(case$weight) || !is.null(case$cluster)
  warned <- FALSE
  f <- withCallingHandlers({
    if (robust) {
      coxph(formula, d, weights = w, cluster = id, ties = case$ties, control = control)
    } else {
      coxph(formula, d, ties = case$ties, control = control)
    }
  }, warning = function(w) {
    warned <<- TRUE
    invokeRestart("muffleWarning")
  })
  model <- if (is.null(f$naive.var)) f$var else f$naive.var
  out <- list(coefficients = unname(coef(f)), model = unname(model), robust = unname(f$var),
              loglik = f$loglik, score = unname(f$score), wald = unname(f$wald.test), warned = warned)
  b <- unname(coef(f))
  p <- length(b)
  if (!any(is.na(b)) && p > 1 && rcond(f$var) > 1e-8) {
    w <- solve(f$var, rep(1, p))
    out$average <- c(sum(w * b) / sum(w), 1 / sqrt(sum(w)))
    equal <- cbind(1, -diag(p - 1)) # each coefficient is the first
    out$equal <- drop(t(equal %*% b) %*% solve(equal %*% f$var %*% t(equal), equal %*% b))
  }
  if (case$more && !any(is.na(coef(f)))) {
    rows <- function(type) unname(as.matrix(residuals(f, type, weighted = TRUE)))
    out$martingale <- unname(residuals(f, "martingale"))
    out$deviance <- unname(residuals(f, "deviance"))
    out$scores <- rows("score")
    out$dfbeta <- rows("dfbeta")
    strata <- sort(unique(d$st))
    new <- d[rep(1, length(strata)), ]
    new$o <- 0
    new$st <- strata
    curves <- survfit(f, newdata = new)
    at <- if (length(strata) == 1) rep(1, length(curves$time)) else rep(seq_along(strata), curves$strata)
    event <- curves$n.event > 0
    out$hazard <- lapply(seq_along(strata), function(k) {
      rows <- event & at == k
      list(stratum = strata[k], time = curves$time[rows], hazard = as.vector(curves$cumhaz)[rows],
           se = as.vector(curves$std.chaz)[rows])
    })
  }
  out
}

cases <- fromJSON(file("stdin"), simplifyDataFrame = FALSE)
cat(toJSON(list(version = paste(R.version.string, "survival", packageVersion("survival")),
                cases = lapply(cases, answer)),
           auto_unbox = FALSE, digits = I(15), na = "string"), "\n")
