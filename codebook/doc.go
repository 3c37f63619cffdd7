// Package codebook reads a study's codebook: every table, variable, range,
// category and missing-value code of its data.
//
// A codebook is a Data Package (version 2) descriptor with Table Schema
// fields, in JSON or YAML.
package codebook
