# Kaplan-Meier curves with weights and clusters, arcsine limits, restricted
# means and cumulative hazards by R's survival on the cases given as JSON on
# standard input; JSON on standard output.
#
#   Rscript robustcurve.R < robustcurve_input.json > robustcurve_output.json
#
# makes the stored output that is compared without R.
suppressPackageStartupMessages({
  library(survival)
  library(jsonlite)
})
options(warn = -1)

parts <- function(f, keep) {
  # With robust errors std.err is that of the curve itself.
  list(survival = f$surv[keep], se = f$std.err[keep], lower = f$lower[keep], upper = f$upper[keep])
}

cases <- fromJSON(file("stdin"), simplifyDataFrame = FALSE)
out <- lapply(cases, function(case) {
  s <- Surv(case$entry, case$exit, case$status)
  keep <- function(f) f$time %in% case$exit
  weighed <- survfit(s ~ 1, weights = case$weight, cluster = seq_along(case$exit), robust = TRUE, conf.type = "log-log")
  both <- survfit(s ~ 1, weights = case$weight, cluster = case$cluster, conf.type = "log")
  clustered <- survfit(s ~ 1, cluster = case$cluster, conf.type = "arcsin", influence = 1)
  plain <- survfit(s ~ 1, conf.type = "arcsin")
  # The influence of each cluster on the area up to the horizon.
  time <- clustered$time
  inside <- time < case$horizon
  width <- diff(c(time[inside], case$horizon))
  area <- clustered$influence.surv[, inside, drop = FALSE] %*% width
  list(weighed = parts(weighed, keep(weighed)), both = parts(both, keep(both)), clustered = parts(clustered, keep(clustered)),
       arcsine = list(lower = plain$lower[keep(plain)], upper = plain$upper[keep(plain)]),
       bothHazard = both$cumhaz[keep(both)], bothHazardSE = both$std.chaz[keep(both)],
       hazard = plain$cumhaz[keep(plain)], hazardSE = plain$std.chaz[keep(plain)],
       meanSE = sqrt(sum(area^2)))
})
cat(toJSON(list(version = paste(R.version.string, "survival", packageVersion("survival")), cases = out),
           auto_unbox = FALSE, digits = I(15), na = "string"), "\n")
