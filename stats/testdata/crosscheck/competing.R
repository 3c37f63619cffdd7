# Cumulative incidence by R's survival and Gray's test by its cmprsk on the
# cases given as JSON on standard input; JSON on standard output.
#
#   Rscript competing.R < competing_input.json > competing_output.json
#
# makes the stored output that is compared without R.
suppressPackageStartupMessages({
  library(survival)
  library(cmprsk)
  library(jsonlite)
})
options(warn = -1)

incidence <- function(case, states) {
  end <- factor(case$cause, 0:states)
  row <- seq_along(case$exit)
  fits <- lapply(c("log-log", "log", "plain"), function(type) {
    survfit(Surv(case$entry, case$exit, end) ~ 1, id = row, conf.type = type, influence = TRUE)
  })
  f <- fits[[1]]
  steps <- match(f$time, f$time)
  # Influences have one more time than the curve, its start.
  skip <- dim(f$influence.pstate)[2] - length(f$time)
  clustered <- sapply(2:(states + 1), function(k) {
    sums <- rowsum(f$influence.pstate[, , k], case$cluster)
    sqrt(colSums(sums^2))[steps + skip]
  })
  # Late entry adds times without an exit.
  keep <- f$time %in% case$exit
  list(time = f$time[keep], free = f$pstate[keep, 1], incidence = t(f$pstate[keep, -1, drop = FALSE]),
       se = t(f$std.err[keep, -1, drop = FALSE]), clustered = t(clustered[keep, , drop = FALSE]),
       lower = lapply(fits, function(x) t(x$lower[keep, -1, drop = FALSE])),
       upper = lapply(fits, function(x) t(x$upper[keep, -1, drop = FALSE])))
}

gray <- function(case) {
  if (any(case$entry > 0)) return(NULL)
  test <- function(...) {
    r <- cuminc(case$exit, case$cause, case$group, ...)$Tests
    if (is.null(r)) return(list())
    list(cause = as.integer(rownames(r)), statistic = unname(r[, "stat"]), p = unname(r[, "pv"]), df = unname(r[, "df"]))
  }
  list(plain = test(), rho = test(rho = 1), strata = test(strata = case$stratum))
}

cases <- fromJSON(file("stdin"), simplifyDataFrame = FALSE, simplifyMatrix = FALSE)
out <- lapply(cases, function(case) list(incidence = incidence(case, 2), gray = gray(case)))
cat(toJSON(list(version = paste(R.version.string, "survival", packageVersion("survival"), "cmprsk", packageVersion("cmprsk")), cases = out),
           auto_unbox = FALSE, digits = I(15), na = "string", null = "null"), "\n")
