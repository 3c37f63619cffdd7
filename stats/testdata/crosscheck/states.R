# State occupancy by the multi-state curves of R's survival package, on the
# cases given as JSON on standard input; JSON on standard output.
#
#   Rscript states.R < states_input.json > states_output.json
#
# makes the stored output that is compared without R.
suppressPackageStartupMessages({
  library(survival)
  library(jsonlite)
})
options(warn = -1)

one <- function(case) {
  k <- case$states
  event <- factor(case$to + 1, 0:k, c("none", paste0("s", 1:k)))
  from <- factor(case$from + 1, 1:k, paste0("s", 1:k))
  y <- Surv(case$entry, case$exit, event)
  curve <- function(p0) {
    arguments <- list(y ~ 1, id = case$id, istate = from, weights = as.numeric(case$weight), influence = TRUE)
    if (!is.null(p0)) arguments$p0 <- as.numeric(p0)
    f <- do.call(survfit, arguments)
    stopifnot(identical(f$states, paste0("s", 1:k)))
    # The area from the start on: the influence has one more time, the start.
    at <- c(case$from_time, f$time)
    step <- diff(c(at[at < case$horizon], case$horizon))
    p <- rbind(f$p0, f$pstate)[seq_along(step), , drop = FALSE]
    w <- case$weight[match(dimnames(f$influence.pstate)[[1]], case$id)]
    auc <- sapply(1:k, function(j) {
      u <- f$influence.pstate[, seq_along(step), j] %*% step
      sqrt(sum((w * u)^2))
    })
    list(time = f$time, p0 = unname(f$p0), occupancy = t(f$pstate), se = t(f$std.err), area = colSums(p * step), area_se = auc)
  }
  list(fixed = curve(case$start), free = curve(NULL))
}

cases <- fromJSON(file("stdin"), simplifyDataFrame = FALSE, simplifyMatrix = FALSE)
write(toJSON(list(version = c(R.version.string, paste("survival", packageVersion("survival"))),
  cases = lapply(cases, one)), digits = NA), stdout())
