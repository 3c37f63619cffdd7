# Survival methods of R's survival package on the cases given as JSON on
# standard input; JSON on standard output.
#
#   Rscript survival.R < survival_input.json > survival_output.json
#
# makes the stored output that is compared without R.
suppressPackageStartupMessages({
  library(survival)
  library(jsonlite)
})
options(warn = -1)

curve <- function(s) {
  fits <- lapply(c("log-log", "log", "plain"), function(type) {
    survfit(s ~ 1, conf.type = type)
  })
  f <- fits[[1]]
  q <- quantile(f, 0.5)
  list(
    time = f$time, at_risk = f$n.risk, events = f$n.event, censored = f$n.censor,
    survival = f$surv,
    se = f$surv * f$std.err, # std.err is that of the cumulative hazard
    lower = lapply(fits, function(x) x$lower),
    upper = lapply(fits, function(x) x$upper),
    median = unname(q$quantile), median_lower = unname(q$lower), median_upper = unname(q$upper)
  )
}

# survdiff takes no late entry. The log-rank test is the Cochran-Mantel-Haenszel
# test over one table of group by event for each event time, which base R has.
logrank <- function(s, case) {
  group <- factor(case$group)
  times <- sort(unique(case$exit[case$status == 1]))
  tables <- sapply(times, function(at) {
    risk <- case$entry < at & at <= case$exit
    event <- risk & case$exit == at & case$status == 1
    table(factor(event[risk], c(FALSE, TRUE)), group[risk])
  }, simplify = "array")
  out <- list()
  keep <- apply(tables, 3, sum) > 1 # a table of one row has no variance
  out$score <- unname(mantelhaen.test(tables[, , keep, drop = FALSE], correct = FALSE)$statistic)
  if (all(case$entry == 0)) {
    d <- survdiff(Surv(case$exit, case$status) ~ group)
    out$observed <- unname(d$obs)
    out$expected <- unname(d$exp)
    out$chisq <- unname(d$chisq)
    out$variance <- d$var
    st <- survdiff(Surv(case$exit, case$status) ~ group + strata(case$stratum))
    out$stratified <- unname(st$chisq)
  }
  out
}

cox <- function(s, case, ties) {
  x <- case$x
  id <- case$cluster
  warned <- FALSE
  f <- withCallingHandlers(
    coxph(s ~ x, ties = ties, cluster = id,
          control = coxph.control(eps = 1e-11, iter.max = 60)),
    warning = function(w) {
      warned <<- TRUE
      invokeRestart("muffleWarning")
    })
  list(coefficients = unname(coef(f)), model = unname(f$naive.var), robust = unname(f$var),
       loglik = f$loglik, score = unname(f$score), wald = unname(f$wald.test), warned = warned)
}

cases <- fromJSON(file("stdin"), simplifyDataFrame = FALSE)
out <- lapply(cases, function(case) {
  s <- Surv(case$entry, case$exit, case$status)
  list(curve = curve(s), logrank = logrank(s, case),
       efron = cox(s, case, "efron"), breslow = cox(s, case, "breslow"))
})
cat(toJSON(list(version = paste(R.version.string, "survival", packageVersion("survival")), cases = out),
           auto_unbox = FALSE, digits = I(15), na = "string"), "\n")
