# Cox models of recurrent events by R's survival package, on the cases given as
# JSON on standard input; JSON on standard output. Rows are laid out here.
#
#   Rscript recurrentmodel.R < recurrentmodel_input.json > recurrentmodel_output.json
#
# makes the stored output that is compared without R.
suppressPackageStartupMessages({
  library(survival)
  library(jsonlite)
})

one <- function(case) {
  d <- data.frame(id = case$child, entry = case$entry, exit = case$exit, status = case$status, a = case$a, b = case$b)
  d <- d[order(d$id, d$entry), ]
  d$number <- ave(as.numeric(d$status), d$id, FUN = function(s) 1 + cumsum(s) - s)
  since <- unlist(lapply(split(d, d$id), function(k) {
    last <- 0
    sapply(seq_len(nrow(k)), function(i) { out <- last; if (k$status[i]) last <<- k$exit[i]; out })
  }))
  d$since <- since[seq_len(nrow(d))]
  d$pooled <- pmin(d$number, 3)
  fit <- function(f) {
    warned <- FALSE
    r <- withCallingHandlers(tryCatch(
      coxph(f, d, cluster = id, ties = case$ties, control = coxph.control(eps = 1e-12, toler.chol = 1e-13, iter.max = 100)),
      error = function(e) NULL), warning = function(w) { warned <<- TRUE; invokeRestart("muffleWarning") })
    if (is.null(r) || warned) return(list(warned = TRUE))
    list(warned = FALSE, coefficients = unname(coef(r)), model = unname(r$naive.var), robust = unname(r$var), loglik = r$loglik)
  }
  list(ag = fit(Surv(entry, exit, status) ~ a + b),
    total = fit(Surv(entry, exit, status) ~ a + b + strata(number)),
    gap = fit(Surv(entry - since, exit - since, status) ~ a + b + strata(number)),
    pooled = fit(Surv(entry, exit, status) ~ a + b + strata(pooled)))
}

cases <- fromJSON(file("stdin"), simplifyDataFrame = FALSE, simplifyMatrix = FALSE)
write(toJSON(list(version = c(R.version.string, paste("survival", packageVersion("survival"))),
  cases = lapply(cases, one)), digits = NA), stdout())
