use super::*;

/// A chain that ended in a corner left that corner twice, 3e-14 mm apart, and it is the one furthest to the left.
#[test]
fn glass_with_a_corner_twice_but_for_rounding_is_parted() {
    let corners = [
        [138.394_215_290_908_62, 1_016.630_952_751_172_6],
        [261.505_986_663_031_4, 1_127.832_777_373_223],
        [243.928_606_650_702_22, 1_220.0],
        [159.535_267_151_475_3, 1_220.0],
        [159.535_267_151_475_3, 1_206.477_202_908_815_3],
        [160.820_760_872_646_64, 1_162.494_131_036_109],
        [138.394_215_290_908_65, 1_016.630_952_751_172_6],
    ];
    let hand = Polygon::new(LineString::from(corners.to_vec()), vec![]);
    let chain = [
        [152.608_673_504_439_9, 1_109.082_375_778_731_4],
        [239.915_544_848_715_63, 1_108.331_014_890_323_8],
    ];
    let chain = chain.map(|[x, y]| Coord { x, y });
    let (left, right) = parted(&hand, &chain).unwrap();
    assert!((left.unsigned_area() + right.unsigned_area() - hand.unsigned_area()).abs() < 1e-6);
}
