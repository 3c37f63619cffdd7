# Mean cumulative counts and their comparison by R's survival package, on the
# cases given as JSON on standard input; JSON on standard output.
#
#   Rscript recurrence.R < recurrence_input.json > recurrence_output.json
#
# makes the stored output that is compared without R.
suppressPackageStartupMessages({
  library(survival)
  library(jsonlite)
})
options(warn = -1)

one <- function(case) {
  s <- Surv(case$entry, case$exit, case$status)
  f <- survfit(s ~ 1, id = case$child, robust = TRUE)
  keep <- f$n.event > 0
  g <- factor(case$group)
  test <- summary(coxph(s ~ g, cluster = case$child, ties = "breslow",
    control = coxph.control(iter.max = 0), init = rep(0, nlevels(g) - 1)))$robscore
  list(
    time = f$time[keep], at_risk = f$n.risk[keep], events = f$n.event[keep],
    count = f$cumhaz[keep], se = f$std.chaz[keep],
    test = unname(test["test"]), df = unname(test["df"])
  )
}

cases <- fromJSON(file("stdin"), simplifyDataFrame = FALSE, simplifyMatrix = FALSE)
write(toJSON(list(version = c(R.version.string, paste("survival", packageVersion("survival"))),
  cases = lapply(cases, one)), digits = NA), stdout())
