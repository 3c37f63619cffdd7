# Tests of proportional hazards and scaled Schoenfeld residuals of R's survival
# package (cox.zph), with smooths by splines and the older approximate test
# written out, on the cases given as JSON on standard input; JSON on standard
# output.
#
#   Rscript proportionality.R < proportionality_input.json > proportionality_output.json
#
# makes the stored output that is compared without R.
suppressPackageStartupMessages({
  library(survival)
  library(splines)
  library(jsonlite)
})
options(warn = -1)

answer <- function(case) {
  n <- length(case$exit)
  x <- as.matrix(case$x)
  p <- ncol(x)
  d <- data.frame(row = seq_len(n))
  d$x <- x
  d$o <- if (is.null(case$offset)) rep(0, n) else case$offset
  d$st <- if (is.null(case$stratum)) rep(0, n) else case$stratum
  d$w <- if (is.null(case$weight)) rep(1, n) else case$weight
  d$id <- if (is.null(case$cluster)) seq_len(n) else case$cluster
  late <- !is.null(case$entry)
  d$s <- if (late) Surv(case$entry, case$exit, case$status) else Surv(case$exit, case$status)
  strata <- length(unique(d$st)) > 1
  formula <- as.formula(paste("s ~ x + offset(o)", if (strata) "+ strata(st)"))
  control <- coxph.control(eps = 1e-11, iter.max = 60)
  robust <- !is.null(case$weight) || !is.null(case$cluster)
  f <- if (robust) coxph(formula, d, weights = w, cluster = id, ties = case$ties, control = control) else
    coxph(formula, d, ties = case$ties, control = control)
  if (any(is.na(coef(f))) || f$iter >= 30) return(list(failed = TRUE))
  if (p == 3) { # the first two columns make up one term
    d$both <- x[, 1:2]
    d$third <- x[, 3]
    formula <- as.formula(paste("s ~ both + third + offset(o)", if (strata) "+ strata(st)"))
    g <- if (robust) coxph(formula, d, weights = w, cluster = id, ties = case$ties, control = control) else
      coxph(formula, d, ties = case$ties, control = control)
  }
  out <- list(failed = FALSE)
  event <- case$status == 1
  naive <- if (is.null(f$naive.var)) f$var else f$naive.var
  scales <- c("km", "identity", "rank", "log")
  istrat <- as.integer(factor(d$st))
  order <- if (late) rev(order(-istrat, -case$exit)) else order(istrat, case$exit)
  order <- order[event[order]]
  raw <- as.matrix(residuals(f, "schoenfeld"))
  raworder <- order(istrat, case$exit)
  raworder <- raworder[event[raworder]] # rows of one time may be exchanged: only sums over them are used
  rw <- d$w[raworder]
  out$row <- order
  for (scale in scales) {
    z <- tryCatch(cox.zph(f, scale, terms = FALSE), error = function(e) NULL)
    if (is.null(z)) {
      out[[scale]] <- NULL
      next
    }
    res <- list(chisq = unname(z$table[, 1]), p = unname(z$table[, 3]), time = z$x)
    if (p == 3) {
      both <- tryCatch(cox.zph(g, scale), error = function(e) NULL)
      if (!is.null(both)) res$both <- unname(both$table[1, c(1, 2)])
    }
    # The approximate test, events counted once, with the events' mean weight where tied.
    if (is.null(case$weight)) {
      gt <- z$x - mean(z$x)
      u <- colSums(raw * gt)
      v <- drop(naive %*% u)
      k <- length(gt) / sum(gt^2)
      res$approximate <- c(v^2 / diag(naive) * k, sum(u * v) * k)
      if (p == 3) res$approximateboth <- drop(v[1:2] %*% solve(naive[1:2, 1:2], v[1:2])) * k
    }
    # Weights: the mean covariance weighs events, where cox.zph counts them.
    varies <- all(sapply(split(seq_len(n), istrat), function(r) {
      if (!any(event[r])) return(TRUE)
      first <- min(case$exit[r][event[r]])
      all(apply(x[r, , drop = FALSE], 2, function(v) length(unique(v)) > 1))
    }))
    y <- unname(z$y)
    var <- unname(z$var)
    if (!is.null(case$weight)) {
      if (varies) {
        factor <- sum(d$w[event]) / sum(event)
        b <- rep(coef(f), each = nrow(y))
        y <- (y - b) * factor + b
        var <- var * factor
      } else {
        y <- NULL
      }
    }
    if (!is.null(y)) {
      res$y <- y
      res$var <- var
      # A natural spline with four knots at quantiles, column by column.
      res$smooth <- lapply(seq_len(p), function(j) {
        use <- !is.na(y[, j])
        xx <- z$x[use]
        knots <- unname(quantile(xx, 0:3 / 3))
        if (any(diff(knots) <= 0) || length(unique(xx)) < 4) return(list(row = integer(0)))
        basis <- ns(xx, knots = knots[2:3], Boundary.knots = knots[c(1, 4)], intercept = TRUE)
        ww <- d$w[order][use]
        m <- lm.wfit(basis, y[use, j], ww)
        a <- solve(crossprod(basis, basis * ww))
        list(row = order[use], smooth = unname(m$fitted.values),
             se = sqrt(rowSums((basis %*% a) * basis) * var[j, j]))
      })
    }
    out[[scale]] <- res
  }
  out
}

cases <- fromJSON(file("stdin"), simplifyDataFrame = FALSE)
cat(toJSON(list(version = paste(R.version.string, "survival", packageVersion("survival")),
                cases = lapply(cases, answer)),
           auto_unbox = FALSE, digits = I(15), na = "string"), "\n")
