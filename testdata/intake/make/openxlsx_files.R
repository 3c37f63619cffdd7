# Workbooks written by the R package openxlsx from the plain text of the study.
library(openxlsx)
here <- commandArgs(TRUE)[1]
read <- function(file) {
  d <- read.csv(file, colClasses = "character", encoding = "UTF-8", check.names = FALSE, na.strings = character())
  d
}
write <- function(from, to, name = "visits", table = FALSE) {
  d <- read(from)
  wb <- createWorkbook(creator = "Saltmarsh")
  addWorksheet(wb, name)
  for (j in seq_along(d)) {
    writeData(wb, 1, names(d)[j], startCol = j, startRow = 1)
    for (i in seq_len(nrow(d))) {
      v <- d[[j]][i]
      if (v == "") next
      if (names(d)[j] == "seen" && grepl("^[0-9]", v)) v <- as.Date(v)
      else if (names(d)[j] == "limp" && v %in% c("true", "false")) v <- v == "true"
      else if (!(names(d)[j] %in% c("club", "id")) && grepl("^[0-9.]+$", v)) v <- as.numeric(v)
      writeData(wb, 1, v, startCol = j, startRow = i + 1, colNames = FALSE)
    }
  }
  saveWorkbook(wb, to, overwrite = TRUE)
}
write(file.path(here, "same/plain.csv"), file.path(here, "same/openxlsx.xlsx"))
write(file.path(here, "files/plain.csv"), file.path(here, "files/openxlsx.xlsx"))
