# Weighted log-rank tests in R on the cases given as JSON on standard input; JSON
# on standard output. Fleming and Harrington's tests are those of survdiff in the
# survival package (which takes no late entry), the others a plain loop over the
# event times.
#
#   Rscript weightedlogrank.R < weightedlogrank_input.json > weightedlogrank_output.json
#
# makes the stored output that is compared without R.
suppressPackageStartupMessages({
  library(survival)
  library(jsonlite)
})
options(warn = -1)

weighted <- function(case, kind) {
  k <- max(case$group) + 1
  u <- numeric(k)
  v <- matrix(0, k, k)
  for (s in unique(case$stratum)) {
    mine <- case$stratum == s
    entry <- case$entry[mine]; exit <- case$exit[mine]; status <- case$status[mine]; group <- case$group[mine]
    left <- 1; peto <- 1
    for (at in sort(unique(exit[status == 1]))) {
      risk <- entry < at & at <= exit
      event <- risk & exit == at & status == 1
      n <- sum(risk); d <- sum(event)
      ng <- tabulate(group[risk] + 1, k); dg <- tabulate(group[event] + 1, k)
      peto <- peto * (1 - d / (n + 1))
      w <- switch(kind, gehan = n, tarone = sqrt(n), peto = peto, late = left^0.5 * (1 - left)^1)
      u <- u + w * (dg - d * ng / n)
      if (n > 1) v <- v + w^2 * d * (n - d) / (n - 1) * (diag(ng / n, k) - outer(ng, ng) / n^2)
      left <- left * (n - d) / n
    }
  }
  keep <- which(diag(v) > 1e-12)
  if (length(keep) < 2) return(NA)
  keep <- keep[-length(keep)]
  tryCatch(sum(u[keep] * solve(v[keep, keep, drop = FALSE], u[keep])), error = function(e) NA)
}

cases <- fromJSON(file("stdin"), simplifyDataFrame = FALSE)
out <- lapply(cases, function(case) {
  fh <- c(NA, NA)
  if (all(case$entry == 0)) {
    fh <- sapply(c(0.5, 1), function(rho) survdiff(Surv(case$exit, case$status) ~ case$group + strata(case$stratum), rho = rho)$chisq)
  }
  list(fh = fh, gehan = weighted(case, "gehan"), tarone = weighted(case, "tarone"), peto = weighted(case, "peto"), late = weighted(case, "late"))
})
cat(toJSON(list(version = paste(R.version.string, "survival", packageVersion("survival")), cases = out),
           auto_unbox = FALSE, digits = I(15), na = "string"), "\n")
