# Restricted means by R's survival package, on the cases given as JSON on
# standard input; JSON on standard output.
#
#   Rscript restrictedmean.R < restrictedmean_input.json > restrictedmean_output.json
#
# makes the stored output that is compared without R.
suppressPackageStartupMessages({
  library(survival)
  library(jsonlite)
})

one <- function(case) {
  s <- if (length(case$entry) > 0) Surv(case$entry, case$exit, case$status) else Surv(case$exit, case$status)
  f <- survfit(s ~ 1)
  table <- summary(f, rmean = case$horizon)$table
  list(mean = unname(table["rmean"]), se = unname(table["se(rmean)"]))
}

cases <- fromJSON(file("stdin"), simplifyDataFrame = FALSE, simplifyMatrix = FALSE)
write(toJSON(list(version = c(R.version.string, paste("survival", packageVersion("survival"))),
  cases = lapply(cases, one)), digits = NA, na = "string"), stdout())
