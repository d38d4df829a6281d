package issue

var referenceRules = []Rule{}
