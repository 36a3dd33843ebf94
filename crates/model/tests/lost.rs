//! Where the cullet comes from, of a plan as a whole.

use cullet_model::Lost;
use cullet_testkit::plan as sample;

#[test]
fn all_causes_together_are_the_cullet() {
    let plan = sample::plan();
    let lost = Lost::of_plan(&plan).expect("a job");
    assert!(
        (lost.sum() - plan.figures.cullet).abs() < 0.5,
        "{lost:?} {:?}",
        plan.figures
    );
    assert!(lost.grinding > 0.0 && lost.trim > 0.0);
    let mut none = plan;
    none.job.glasses.clear();
    assert_eq!(Lost::of_plan(&none), None);
}
