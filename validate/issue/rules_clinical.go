package issue

var clinicalRules = []Rule{}
