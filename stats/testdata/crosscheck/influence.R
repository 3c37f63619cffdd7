# Variance inflation, one-step influence and score tests of logistic regressions
# in base R on the cases given as JSON on standard input; JSON on standard output.
#
#   Rscript influence.R < influence_input.json > influence_output.json
#
# makes the stored output that is compared without R.
suppressPackageStartupMessages(library(jsonlite))
options(warn = -1)

cases <- fromJSON(file("stdin"), simplifyDataFrame = FALSE, simplifyMatrix = FALSE)
out <- lapply(cases, function(case) {
  x <- do.call(rbind, lapply(case$x, unlist))
  colnames(x) <- paste0("v", seq_len(ncol(x)))
  data <- data.frame(y = unlist(case$y), x)
  tight <- glm.control(epsilon = 1e-14, maxit = 100)
  fit <- glm(y ~ ., family = binomial, data = data, control = tight)
  rao <- sapply(colnames(x), function(name) {
    rest <- setdiff(colnames(x), name)
    small <- glm(reformulate(if (length(rest)) rest else "1", "y"), family = binomial, data = data, control = tight)
    anova(small, fit, test = "Rao")[2, "Pr(>Chi)"]
  })
  # R's own influence() of a glm takes deviance residuals in place of y - mu.
  change <- model.matrix(fit) %*% vcov(fit) * (residuals(fit, "response") / (1 - hatvalues(fit)))
  list(converged = fit$converged && max(abs(coef(fit))) < 12,
       vif = unname(diag(solve(cor(x)))),
       change = unname(change),
       rao = unname(rao))
})
cat(toJSON(list(version = R.version.string, cases = out), digits = NA, auto_unbox = TRUE))
